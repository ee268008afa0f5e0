-- A small catalogue of form 5, as the version that released it wrote it.
PRAGMA foreign_keys = OFF;
BEGIN;
CREATE TABLE project (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE box (id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE COLLATE NOCASE) STRICT;
INSERT INTO box (id, name) VALUES (1, 'Shoebox 3');
CREATE TABLE sleeve (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    box INTEGER NOT NULL REFERENCES box,
    name TEXT NOT NULL COLLATE NOCASE,
    UNIQUE (box, name)
) STRICT;
INSERT INTO sleeve (id, box, name) VALUES (1, 1, '12');
CREATE TABLE sitting (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    camera TEXT NOT NULL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    began TEXT,
    ended TEXT,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO sitting (id, camera, width_px, height_px, began, ended, note) VALUES (1, 'Testbench 24', 6000, 4000, '2026-01-02T03:04:05', '2026-01-02T03:04:05', '');
CREATE TABLE print (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    title TEXT NOT NULL DEFAULT '',
    format TEXT NOT NULL DEFAULT '',
    film TEXT NOT NULL DEFAULT '',
    batch TEXT NOT NULL DEFAULT '',
    exposed TEXT NOT NULL DEFAULT '',
    exposed_from INTEGER,
    exposed_to INTEGER,
    place TEXT NOT NULL DEFAULT '',
    people TEXT NOT NULL DEFAULT '',
    subject TEXT NOT NULL DEFAULT '',
    inscription TEXT NOT NULL DEFAULT '',
    condition TEXT NOT NULL DEFAULT '',
    rights TEXT NOT NULL DEFAULT '',
    privacy TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    box INTEGER REFERENCES box,
    sleeve INTEGER REFERENCES sleeve,
    front INTEGER REFERENCES frame,
    front_why TEXT NOT NULL DEFAULT '',
    front_by TEXT NOT NULL DEFAULT '',
    added TEXT NOT NULL
, alt TEXT NOT NULL DEFAULT '') STRICT;
INSERT INTO print (id, title, format, film, batch, exposed, exposed_from, exposed_to, place, people, subject, inscription, condition, rights, privacy, note, box, sleeve, front, front_why, front_by, added, alt) VALUES (1, '', '', '', '', '2009-07?', 14426, 14456, 'Çeşme harbour', 'Ada
Bo', '', '', '', '', '', '', NULL, NULL, 1, 'the only front', 'rule', '2026-11-30T20:35:37Z', '');
INSERT INTO print (id, title, format, film, batch, exposed, exposed_from, exposed_to, place, people, subject, inscription, condition, rights, privacy, note, box, sleeve, front, front_why, front_by, added, alt) VALUES (2, '', '', '', '', '', NULL, NULL, '', '', '', '', '', '', '', '', 1, 1, NULL, '', '', '2026-11-30T20:35:38Z', '');
CREATE TABLE edit (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE COLLATE NOCASE,
    kind TEXT NOT NULL CHECK (kind IN ('wide', 'tight', 'sequence'))
) STRICT;
INSERT INTO edit (id, name, kind) VALUES (1, 'book', 'sequence');
CREATE TABLE chosen (
    id INTEGER PRIMARY KEY,
    edit INTEGER NOT NULL REFERENCES edit,
    print INTEGER NOT NULL REFERENCES print,
    place INTEGER NOT NULL,
    UNIQUE (edit, print)
) STRICT;
INSERT INTO chosen (id, edit, print, place) VALUES (1, 1, 1, 1);
INSERT INTO chosen (id, edit, print, place) VALUES (2, 1, 2, 0);
CREATE TABLE hand_off (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    place TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO hand_off (id, at, kind, place, note) VALUES (1, '2026-11-30T20:35:38Z', 'pack', 'pack-1', '');
CREATE TABLE handed (
    id INTEGER PRIMARY KEY,
    hand_off INTEGER NOT NULL REFERENCES hand_off,
    print INTEGER NOT NULL REFERENCES print,
    place INTEGER NOT NULL,
    UNIQUE (hand_off, print)
) STRICT;
INSERT INTO handed (id, hand_off, print, place) VALUES (1, 1, 1, 0);
CREATE TABLE result (
    frame INTEGER PRIMARY KEY,
    verdict TEXT NOT NULL,
    says TEXT NOT NULL DEFAULT '',
    format TEXT NOT NULL DEFAULT '',
    confidence REAL,
    width_mm REAL,
    height_mm REAL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    px_per_mm REAL,
    canvas_width_px INTEGER,
    canvas_height_px INTEGER,
    marks TEXT NOT NULL DEFAULT '',
    report TEXT NOT NULL,
    master TEXT,
    mount TEXT,
    srgb_png TEXT,
    share TEXT,
    before TEXT,
    after TEXT,
    recipe TEXT NOT NULL
) STRICT;
INSERT INTO result (frame, verdict, says, format, confidence, width_mm, height_mm, width_px, height_px, px_per_mm, canvas_width_px, canvas_height_px, marks, report, master, mount, srgb_png, share, before, after, recipe) VALUES (1, 'look', 'The window mirrors something bright.', 'square-integral', NULL, NULL, NULL, 6000, 4000, NULL, NULL, NULL, '', 'finished/reports/F0001-00aa.report.json', NULL, NULL, NULL, NULL, NULL, NULL, '11bb');
CREATE TABLE finding (
    frame INTEGER NOT NULL,
    place INTEGER NOT NULL,
    code TEXT NOT NULL,
    severity TEXT NOT NULL,
    value REAL,
    limit_value REAL,
    unit TEXT NOT NULL DEFAULT '',
    says TEXT NOT NULL,
    remedy TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (frame, place)
) STRICT, WITHOUT ROWID;
INSERT INTO finding (frame, place, code, severity, value, limit_value, unit, says, remedy) VALUES (1, 0, 'veil', 'look', 0.02, 0.01, 'share', 'The window mirrors something bright.', 'Turn off the ceiling lamp.');
CREATE TABLE recipe (hash TEXT PRIMARY KEY, json TEXT NOT NULL) STRICT;
INSERT INTO recipe (hash, json) VALUES ('11bb', '{}');
CREATE TABLE likeness (frame INTEGER PRIMARY KEY, lattice BLOB NOT NULL) STRICT;
INSERT INTO likeness (frame, lattice) VALUES (1, x'010203');
CREATE TABLE entry (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    says TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('done', 'undone', 'dropped'))
, room TEXT NOT NULL DEFAULT '') STRICT;
INSERT INTO entry (id, at, says, state, room) VALUES (1, '2026-11-30T20:35:37Z', 'Took F0001.jpg', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (2, '2026-11-30T20:35:38Z', 'Described P0001: place, date, people', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (3, '2026-11-30T20:35:38Z', 'A print', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (4, '2026-11-30T20:35:38Z', 'A print', 'dropped', '');
INSERT INTO entry (id, at, says, state, room) VALUES (5, '2026-11-30T20:35:38Z', 'Took F0002.jpg', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (6, '2026-11-30T20:35:38Z', 'Described P0002: box, sleeve', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (7, '2026-11-30T20:35:38Z', 'Handed on: pack', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (8, '2026-11-30T20:35:38Z', 'Laid P0001 and P0002 on one another', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (9, '2026-11-30T20:35:38Z', 'Into the edit book: P0001', 'done', '');
INSERT INTO entry (id, at, says, state, room) VALUES (10, '2026-11-30T20:35:38Z', 'Into the edit book: P0002', 'done', '');
CREATE TABLE change (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    entry INTEGER NOT NULL REFERENCES entry,
    what TEXT NOT NULL,
    row INTEGER NOT NULL,
    before TEXT,
    after TEXT
) STRICT;
INSERT INTO change (id, entry, what, row, before, after) VALUES (1, 1, 'print', 1, NULL, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (2, 1, 'sitting', 1, NULL, '{"id":1,"camera":"Testbench 24","width_px":6000,"height_px":4000,"began":"2026-01-02T03:04:05","ended":"2026-01-02T03:04:05","note":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (3, 1, 'frame', 1, NULL, '{"id":1,"blake3":"00aa","name":"F0001.jpg","path":"/card/F0001.jpg","twins":"","taken":"2026-01-02T03:04:05","role":"front","role_why":"","print":null,"print_why":"","sitting":1,"said":"","added":"2026-11-30T20:35:37Z","part":1,"parts":1}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (4, 1, 'frame', 1, '{"id":1,"blake3":"00aa","name":"F0001.jpg","path":"/card/F0001.jpg","twins":"","taken":"2026-01-02T03:04:05","role":"front","role_why":"","print":null,"print_why":"","sitting":1,"said":"","added":"2026-11-30T20:35:37Z","part":1,"parts":1}', '{"id":1,"blake3":"00aa","name":"F0001.jpg","path":"/card/F0001.jpg","twins":"","taken":"2026-01-02T03:04:05","role":"front","role_why":"","print":1,"print_why":"","sitting":1,"said":"","added":"2026-11-30T20:35:37Z","part":1,"parts":1}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (5, 1, 'frame', 1, '{"id":1,"blake3":"00aa","name":"F0001.jpg","path":"/card/F0001.jpg","twins":"","taken":"2026-01-02T03:04:05","role":"front","role_why":"","print":1,"print_why":"","sitting":1,"said":"","added":"2026-11-30T20:35:37Z","part":1,"parts":1}', '{"id":1,"blake3":"00aa","name":"F0001.jpg","path":"/card/F0001.jpg","twins":"","taken":"2026-01-02T03:04:05","role":"front","role_why":"","print":1,"print_why":"a print not seen before","sitting":1,"said":"","added":"2026-11-30T20:35:37Z","part":1,"parts":1}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (6, 1, 'print', 1, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:37Z","alt":""}', '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (7, 2, 'print', 1, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}', '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (8, 2, 'print', 1, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}', '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":null,"exposed_to":null,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (9, 2, 'print', 1, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":null,"exposed_to":null,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}', '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":14426,"exposed_to":null,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (10, 2, 'print', 1, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":14426,"exposed_to":null,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}', '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":14426,"exposed_to":14456,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (11, 2, 'print', 1, '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":14426,"exposed_to":14456,"place":"Çeşme harbour","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}', '{"id":1,"title":"","format":"","film":"","batch":"","exposed":"2009-07?","exposed_from":14426,"exposed_to":14456,"place":"Çeşme harbour","people":"Ada\nBo","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":1,"front_why":"the only front","front_by":"rule","added":"2026-11-30T20:35:37Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (12, 3, 'print', 2, NULL, '{"id":2,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:38Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (13, 4, 'print', 3, NULL, '{"id":3,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:38Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (14, 5, 'frame', 2, NULL, '{"id":2,"blake3":"00bb","name":"F0002-1","path":"/card/F0002.jpg","twins":"","taken":null,"role":"front","role_why":"","print":null,"print_why":"","sitting":null,"said":"","added":"2026-11-30T20:35:38Z","part":1,"parts":2}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (15, 5, 'frame', 3, NULL, '{"id":3,"blake3":"00bb","name":"F0002-2","path":"/card/F0002.jpg","twins":"","taken":null,"role":"front","role_why":"","print":null,"print_why":"","sitting":null,"said":"","added":"2026-11-30T20:35:38Z","part":2,"parts":2}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (16, 6, 'box', 1, NULL, '{"id":1,"name":"Shoebox 3"}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (17, 6, 'print', 2, '{"id":2,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":null,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:38Z","alt":""}', '{"id":2,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":1,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:38Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (18, 6, 'sleeve', 1, NULL, '{"id":1,"box":1,"name":"12"}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (19, 6, 'print', 2, '{"id":2,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":1,"sleeve":null,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:38Z","alt":""}', '{"id":2,"title":"","format":"","film":"","batch":"","exposed":"","exposed_from":null,"exposed_to":null,"place":"","people":"","subject":"","inscription":"","condition":"","rights":"","privacy":"","note":"","box":1,"sleeve":1,"front":null,"front_why":"","front_by":"","added":"2026-11-30T20:35:38Z","alt":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (20, 7, 'hand_off', 1, NULL, '{"id":1,"at":"2026-11-30T20:35:38Z","kind":"pack","place":"pack-1","note":""}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (21, 7, 'handed', 1, NULL, '{"id":1,"hand_off":1,"print":1,"place":0}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (22, 8, 'stacked', 1, NULL, '{"id":1,"print":1,"stack":1,"place":0,"laid_by":"person"}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (23, 8, 'stacked', 2, NULL, '{"id":2,"print":2,"stack":1,"place":1,"laid_by":"person"}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (24, 9, 'edit', 1, NULL, '{"id":1,"name":"book","kind":"sequence"}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (25, 9, 'chosen', 1, NULL, '{"id":1,"edit":1,"print":1,"place":0}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (26, 10, 'chosen', 2, NULL, '{"id":2,"edit":1,"print":2,"place":0}');
INSERT INTO change (id, entry, what, row, before, after) VALUES (27, 10, 'chosen', 1, '{"id":1,"edit":1,"print":1,"place":0}', '{"id":1,"edit":1,"print":1,"place":1}');
CREATE TABLE open_entry (id INTEGER NOT NULL) STRICT;
CREATE TABLE stale (print INTEGER PRIMARY KEY) STRICT;
CREATE TABLE unwritten (print INTEGER PRIMARY KEY, turn INTEGER NOT NULL) STRICT;
INSERT INTO unwritten (print, turn) VALUES (1, 9);
INSERT INTO unwritten (print, turn) VALUES (2, 9);
INSERT INTO unwritten (print, turn) VALUES (3, 5);
CREATE VIRTUAL TABLE word USING fts5 (
    title, alt, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame,
    tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3'
);
CREATE TABLE stacked (
    id INTEGER PRIMARY KEY,
    print INTEGER NOT NULL UNIQUE REFERENCES print,
    stack INTEGER,
    place INTEGER NOT NULL,
    laid_by TEXT NOT NULL CHECK (laid_by IN ('rule', 'person'))
) STRICT;
INSERT INTO stacked (id, print, stack, place, laid_by) VALUES (1, 1, 1, 0, 'person');
INSERT INTO stacked (id, print, stack, place, laid_by) VALUES (2, 2, 1, 1, 'person');
CREATE TABLE frame (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    blake3 TEXT NOT NULL,
    name TEXT NOT NULL,
    path TEXT NOT NULL,
    twins TEXT NOT NULL DEFAULT '',
    taken TEXT,
    role TEXT NOT NULL,
    role_why TEXT NOT NULL DEFAULT '',
    print INTEGER REFERENCES print,
    print_why TEXT NOT NULL DEFAULT '',
    sitting INTEGER REFERENCES sitting,
    said TEXT NOT NULL DEFAULT '',
    added TEXT NOT NULL,
    part INTEGER NOT NULL DEFAULT 1,
    parts INTEGER NOT NULL DEFAULT 1,
    UNIQUE (blake3, part)
) STRICT;
INSERT INTO frame (id, blake3, name, path, twins, taken, role, role_why, print, print_why, sitting, said, added, part, parts) VALUES (1, '00aa', 'F0001.jpg', '/card/F0001.jpg', '', '2026-01-02T03:04:05', 'front', '', 1, 'a print not seen before', 1, '', '2026-11-30T20:35:37Z', 1, 1);
INSERT INTO frame (id, blake3, name, path, twins, taken, role, role_why, print, print_why, sitting, said, added, part, parts) VALUES (2, '00bb', 'F0002-1', '/card/F0002.jpg', '', NULL, 'front', '', NULL, '', NULL, '', '2026-11-30T20:35:38Z', 1, 2);
INSERT INTO frame (id, blake3, name, path, twins, taken, role, role_why, print, print_why, sitting, said, added, part, parts) VALUES (3, '00bb', 'F0002-2', '/card/F0002.jpg', '', NULL, 'front', '', NULL, '', NULL, '', '2026-11-30T20:35:38Z', 2, 2);
CREATE INDEX chosen_print ON chosen (print);
CREATE INDEX change_entry ON change (entry);
CREATE INDEX stacked_stack ON stacked (stack);
CREATE INDEX frame_print ON frame (print);
CREATE INDEX frame_name ON frame (name COLLATE NOCASE);
CREATE INDEX entry_room ON entry (room, state);
CREATE INDEX change_row ON change (what, row);
DELETE FROM sqlite_sequence;
INSERT INTO sqlite_sequence (name, seq) VALUES ('entry', 10);
INSERT INTO sqlite_sequence (name, seq) VALUES ('change', 27);
INSERT INTO sqlite_sequence (name, seq) VALUES ('print', 3);
INSERT INTO sqlite_sequence (name, seq) VALUES ('sitting', 1);
INSERT INTO sqlite_sequence (name, seq) VALUES ('frame', 3);
INSERT INTO sqlite_sequence (name, seq) VALUES ('box', 1);
INSERT INTO sqlite_sequence (name, seq) VALUES ('sleeve', 1);
INSERT INTO sqlite_sequence (name, seq) VALUES ('hand_off', 1);
INSERT INTO sqlite_sequence (name, seq) VALUES ('edit', 1);
INSERT INTO word (rowid, title, alt, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame) VALUES (1, '', '', '', '', 'Çeşme harbour', 'Ada
Bo', '', '', '', '', '', '', '', 'F0001.jpg');
INSERT INTO word (rowid, title, alt, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame) VALUES (2, '', '', '', '', '', '', '', '', '', '', '', 'Shoebox 3', '12', '');
CREATE TRIGGER journal_box_INSERT AFTER INSERT ON box
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'box', NEW.id, NULL, json_object('id', NEW.id, 'name', NEW.name));
                 END;
CREATE TRIGGER journal_box_UPDATE AFTER UPDATE ON box
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'box', NEW.id, json_object('id', OLD.id, 'name', OLD.name), json_object('id', NEW.id, 'name', NEW.name));
                 END;
CREATE TRIGGER journal_box_DELETE AFTER DELETE ON box
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'box', OLD.id, json_object('id', OLD.id, 'name', OLD.name), NULL);
                 END;
CREATE TRIGGER journal_sleeve_INSERT AFTER INSERT ON sleeve
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'sleeve', NEW.id, NULL, json_object('id', NEW.id, 'box', NEW.box, 'name', NEW.name));
                 END;
CREATE TRIGGER journal_sleeve_UPDATE AFTER UPDATE ON sleeve
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'sleeve', NEW.id, json_object('id', OLD.id, 'box', OLD.box, 'name', OLD.name), json_object('id', NEW.id, 'box', NEW.box, 'name', NEW.name));
                 END;
CREATE TRIGGER journal_sleeve_DELETE AFTER DELETE ON sleeve
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'sleeve', OLD.id, json_object('id', OLD.id, 'box', OLD.box, 'name', OLD.name), NULL);
                 END;
CREATE TRIGGER journal_sitting_INSERT AFTER INSERT ON sitting
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'sitting', NEW.id, NULL, json_object('id', NEW.id, 'camera', NEW.camera, 'width_px', NEW.width_px, 'height_px', NEW.height_px, 'began', NEW.began, 'ended', NEW.ended, 'note', NEW.note));
                 END;
CREATE TRIGGER journal_sitting_UPDATE AFTER UPDATE ON sitting
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'sitting', NEW.id, json_object('id', OLD.id, 'camera', OLD.camera, 'width_px', OLD.width_px, 'height_px', OLD.height_px, 'began', OLD.began, 'ended', OLD.ended, 'note', OLD.note), json_object('id', NEW.id, 'camera', NEW.camera, 'width_px', NEW.width_px, 'height_px', NEW.height_px, 'began', NEW.began, 'ended', NEW.ended, 'note', NEW.note));
                 END;
CREATE TRIGGER journal_sitting_DELETE AFTER DELETE ON sitting
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'sitting', OLD.id, json_object('id', OLD.id, 'camera', OLD.camera, 'width_px', OLD.width_px, 'height_px', OLD.height_px, 'began', OLD.began, 'ended', OLD.ended, 'note', OLD.note), NULL);
                 END;
CREATE TRIGGER journal_print_INSERT AFTER INSERT ON print
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'print', NEW.id, NULL, json_object('id', NEW.id, 'title', NEW.title, 'format', NEW.format, 'film', NEW.film, 'batch', NEW.batch, 'exposed', NEW.exposed, 'exposed_from', NEW.exposed_from, 'exposed_to', NEW.exposed_to, 'place', NEW.place, 'people', NEW.people, 'subject', NEW.subject, 'inscription', NEW.inscription, 'condition', NEW.condition, 'rights', NEW.rights, 'privacy', NEW.privacy, 'note', NEW.note, 'box', NEW.box, 'sleeve', NEW.sleeve, 'front', NEW.front, 'front_why', NEW.front_why, 'front_by', NEW.front_by, 'added', NEW.added, 'alt', NEW.alt));
                 END;
CREATE TRIGGER journal_print_UPDATE AFTER UPDATE ON print
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'print', NEW.id, json_object('id', OLD.id, 'title', OLD.title, 'format', OLD.format, 'film', OLD.film, 'batch', OLD.batch, 'exposed', OLD.exposed, 'exposed_from', OLD.exposed_from, 'exposed_to', OLD.exposed_to, 'place', OLD.place, 'people', OLD.people, 'subject', OLD.subject, 'inscription', OLD.inscription, 'condition', OLD.condition, 'rights', OLD.rights, 'privacy', OLD.privacy, 'note', OLD.note, 'box', OLD.box, 'sleeve', OLD.sleeve, 'front', OLD.front, 'front_why', OLD.front_why, 'front_by', OLD.front_by, 'added', OLD.added, 'alt', OLD.alt), json_object('id', NEW.id, 'title', NEW.title, 'format', NEW.format, 'film', NEW.film, 'batch', NEW.batch, 'exposed', NEW.exposed, 'exposed_from', NEW.exposed_from, 'exposed_to', NEW.exposed_to, 'place', NEW.place, 'people', NEW.people, 'subject', NEW.subject, 'inscription', NEW.inscription, 'condition', NEW.condition, 'rights', NEW.rights, 'privacy', NEW.privacy, 'note', NEW.note, 'box', NEW.box, 'sleeve', NEW.sleeve, 'front', NEW.front, 'front_why', NEW.front_why, 'front_by', NEW.front_by, 'added', NEW.added, 'alt', NEW.alt));
                 END;
CREATE TRIGGER journal_print_DELETE AFTER DELETE ON print
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'print', OLD.id, json_object('id', OLD.id, 'title', OLD.title, 'format', OLD.format, 'film', OLD.film, 'batch', OLD.batch, 'exposed', OLD.exposed, 'exposed_from', OLD.exposed_from, 'exposed_to', OLD.exposed_to, 'place', OLD.place, 'people', OLD.people, 'subject', OLD.subject, 'inscription', OLD.inscription, 'condition', OLD.condition, 'rights', OLD.rights, 'privacy', OLD.privacy, 'note', OLD.note, 'box', OLD.box, 'sleeve', OLD.sleeve, 'front', OLD.front, 'front_why', OLD.front_why, 'front_by', OLD.front_by, 'added', OLD.added, 'alt', OLD.alt), NULL);
                 END;
CREATE TRIGGER journal_frame_INSERT AFTER INSERT ON frame
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'frame', NEW.id, NULL, json_object('id', NEW.id, 'blake3', NEW.blake3, 'name', NEW.name, 'path', NEW.path, 'twins', NEW.twins, 'taken', NEW.taken, 'role', NEW.role, 'role_why', NEW.role_why, 'print', NEW.print, 'print_why', NEW.print_why, 'sitting', NEW.sitting, 'said', NEW.said, 'added', NEW.added, 'part', NEW.part, 'parts', NEW.parts));
                 END;
CREATE TRIGGER journal_frame_UPDATE AFTER UPDATE ON frame
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'frame', NEW.id, json_object('id', OLD.id, 'blake3', OLD.blake3, 'name', OLD.name, 'path', OLD.path, 'twins', OLD.twins, 'taken', OLD.taken, 'role', OLD.role, 'role_why', OLD.role_why, 'print', OLD.print, 'print_why', OLD.print_why, 'sitting', OLD.sitting, 'said', OLD.said, 'added', OLD.added, 'part', OLD.part, 'parts', OLD.parts), json_object('id', NEW.id, 'blake3', NEW.blake3, 'name', NEW.name, 'path', NEW.path, 'twins', NEW.twins, 'taken', NEW.taken, 'role', NEW.role, 'role_why', NEW.role_why, 'print', NEW.print, 'print_why', NEW.print_why, 'sitting', NEW.sitting, 'said', NEW.said, 'added', NEW.added, 'part', NEW.part, 'parts', NEW.parts));
                 END;
CREATE TRIGGER journal_frame_DELETE AFTER DELETE ON frame
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'frame', OLD.id, json_object('id', OLD.id, 'blake3', OLD.blake3, 'name', OLD.name, 'path', OLD.path, 'twins', OLD.twins, 'taken', OLD.taken, 'role', OLD.role, 'role_why', OLD.role_why, 'print', OLD.print, 'print_why', OLD.print_why, 'sitting', OLD.sitting, 'said', OLD.said, 'added', OLD.added, 'part', OLD.part, 'parts', OLD.parts), NULL);
                 END;
CREATE TRIGGER journal_edit_INSERT AFTER INSERT ON edit
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'edit', NEW.id, NULL, json_object('id', NEW.id, 'name', NEW.name, 'kind', NEW.kind));
                 END;
CREATE TRIGGER journal_edit_UPDATE AFTER UPDATE ON edit
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'edit', NEW.id, json_object('id', OLD.id, 'name', OLD.name, 'kind', OLD.kind), json_object('id', NEW.id, 'name', NEW.name, 'kind', NEW.kind));
                 END;
CREATE TRIGGER journal_edit_DELETE AFTER DELETE ON edit
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'edit', OLD.id, json_object('id', OLD.id, 'name', OLD.name, 'kind', OLD.kind), NULL);
                 END;
CREATE TRIGGER journal_chosen_INSERT AFTER INSERT ON chosen
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'chosen', NEW.id, NULL, json_object('id', NEW.id, 'edit', NEW.edit, 'print', NEW.print, 'place', NEW.place));
                 END;
CREATE TRIGGER journal_chosen_UPDATE AFTER UPDATE ON chosen
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'chosen', NEW.id, json_object('id', OLD.id, 'edit', OLD.edit, 'print', OLD.print, 'place', OLD.place), json_object('id', NEW.id, 'edit', NEW.edit, 'print', NEW.print, 'place', NEW.place));
                 END;
CREATE TRIGGER journal_chosen_DELETE AFTER DELETE ON chosen
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'chosen', OLD.id, json_object('id', OLD.id, 'edit', OLD.edit, 'print', OLD.print, 'place', OLD.place), NULL);
                 END;
CREATE TRIGGER journal_hand_off_INSERT AFTER INSERT ON hand_off
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'hand_off', NEW.id, NULL, json_object('id', NEW.id, 'at', NEW.at, 'kind', NEW.kind, 'place', NEW.place, 'note', NEW.note));
                 END;
CREATE TRIGGER journal_hand_off_UPDATE AFTER UPDATE ON hand_off
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'hand_off', NEW.id, json_object('id', OLD.id, 'at', OLD.at, 'kind', OLD.kind, 'place', OLD.place, 'note', OLD.note), json_object('id', NEW.id, 'at', NEW.at, 'kind', NEW.kind, 'place', NEW.place, 'note', NEW.note));
                 END;
CREATE TRIGGER journal_hand_off_DELETE AFTER DELETE ON hand_off
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'hand_off', OLD.id, json_object('id', OLD.id, 'at', OLD.at, 'kind', OLD.kind, 'place', OLD.place, 'note', OLD.note), NULL);
                 END;
CREATE TRIGGER journal_handed_INSERT AFTER INSERT ON handed
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'handed', NEW.id, NULL, json_object('id', NEW.id, 'hand_off', NEW.hand_off, 'print', NEW.print, 'place', NEW.place));
                 END;
CREATE TRIGGER journal_handed_UPDATE AFTER UPDATE ON handed
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'handed', NEW.id, json_object('id', OLD.id, 'hand_off', OLD.hand_off, 'print', OLD.print, 'place', OLD.place), json_object('id', NEW.id, 'hand_off', NEW.hand_off, 'print', NEW.print, 'place', NEW.place));
                 END;
CREATE TRIGGER journal_handed_DELETE AFTER DELETE ON handed
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'handed', OLD.id, json_object('id', OLD.id, 'hand_off', OLD.hand_off, 'print', OLD.print, 'place', OLD.place), NULL);
                 END;
CREATE TRIGGER journal_stacked_INSERT AFTER INSERT ON stacked
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'stacked', NEW.id, NULL, json_object('id', NEW.id, 'print', NEW.print, 'stack', NEW.stack, 'place', NEW.place, 'laid_by', NEW.laid_by));
                 END;
CREATE TRIGGER journal_stacked_UPDATE AFTER UPDATE ON stacked
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'stacked', NEW.id, json_object('id', OLD.id, 'print', OLD.print, 'stack', OLD.stack, 'place', OLD.place, 'laid_by', OLD.laid_by), json_object('id', NEW.id, 'print', NEW.print, 'stack', NEW.stack, 'place', NEW.place, 'laid_by', NEW.laid_by));
                 END;
CREATE TRIGGER journal_stacked_DELETE AFTER DELETE ON stacked
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), 'stacked', OLD.id, json_object('id', OLD.id, 'print', OLD.print, 'stack', OLD.stack, 'place', OLD.place, 'laid_by', OLD.laid_by), NULL);
                 END;
CREATE TRIGGER words_print_INSERT AFTER INSERT ON print BEGIN INSERT INTO stale SELECT * FROM (SELECT NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_print_UPDATE AFTER UPDATE ON print BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.id) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_print_DELETE AFTER DELETE ON print BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_frame_INSERT AFTER INSERT ON frame BEGIN INSERT INTO stale SELECT * FROM (SELECT NEW.print WHERE NEW.print IS NOT NULL) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_frame_UPDATE AFTER UPDATE ON frame BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.print WHERE OLD.print IS NOT NULL) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT NEW.print WHERE NEW.print IS NOT NULL) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_frame_DELETE AFTER DELETE ON frame BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.print WHERE OLD.print IS NOT NULL) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_box_INSERT AFTER INSERT ON box BEGIN INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE box = NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_box_UPDATE AFTER UPDATE ON box BEGIN INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE box = OLD.id) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE box = NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_box_DELETE AFTER DELETE ON box BEGIN INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE box = OLD.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_sleeve_INSERT AFTER INSERT ON sleeve BEGIN INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE sleeve = NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_sleeve_UPDATE AFTER UPDATE ON sleeve BEGIN INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE sleeve = OLD.id) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE sleeve = NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_sleeve_DELETE AFTER DELETE ON sleeve BEGIN INSERT INTO stale SELECT * FROM (SELECT id FROM print WHERE sleeve = OLD.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_chosen_INSERT AFTER INSERT ON chosen BEGIN INSERT INTO stale SELECT * FROM (SELECT NEW.print) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_chosen_UPDATE AFTER UPDATE ON chosen BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.print) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT NEW.print) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_chosen_DELETE AFTER DELETE ON chosen BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.print) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_edit_INSERT AFTER INSERT ON edit BEGIN INSERT INTO stale SELECT * FROM (SELECT print FROM chosen WHERE edit = NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_edit_UPDATE AFTER UPDATE ON edit BEGIN INSERT INTO stale SELECT * FROM (SELECT print FROM chosen WHERE edit = OLD.id) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT print FROM chosen WHERE edit = NEW.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_edit_DELETE AFTER DELETE ON edit BEGIN INSERT INTO stale SELECT * FROM (SELECT print FROM chosen WHERE edit = OLD.id) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_stacked_INSERT AFTER INSERT ON stacked BEGIN INSERT INTO stale SELECT * FROM (SELECT NEW.print) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_stacked_UPDATE AFTER UPDATE ON stacked BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.print) EXCEPT SELECT print FROM stale;INSERT INTO stale SELECT * FROM (SELECT NEW.print) EXCEPT SELECT print FROM stale; END;
CREATE TRIGGER words_stacked_DELETE AFTER DELETE ON stacked BEGIN INSERT INTO stale SELECT * FROM (SELECT OLD.print) EXCEPT SELECT print FROM stale; END;
PRAGMA user_version = 5;
COMMIT;
