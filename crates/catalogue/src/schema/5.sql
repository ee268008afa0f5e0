-- Form 5: where each thing was done, so that undo takes back what was done there: a room of the desk's page ("table", "print/17",
-- "hand"), a take-in as a whole ("take 41"), or nothing: said on the command line. What took frames in before this form is a take-in.

ALTER TABLE entry ADD COLUMN room TEXT NOT NULL DEFAULT '';
UPDATE entry SET room = 'take' WHERE id IN (SELECT entry FROM change WHERE what = 'frame');
CREATE INDEX entry_room ON entry (room, state);
-- What was done since to a row.
CREATE INDEX change_row ON change (what, row);

-- A date's own words beside the date; searches kept by name; the main colours of a frame's picture.

ALTER TABLE print ADD COLUMN dated TEXT NOT NULL DEFAULT '';
CREATE TABLE saved (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE, line TEXT NOT NULL) STRICT;
-- CIELAB (D50) of a few colours, each with its share of the picture. Not part of the journal: it mirrors what lies on disk.
CREATE TABLE colour (
    frame INTEGER NOT NULL,
    place INTEGER NOT NULL,
    l REAL NOT NULL,
    a REAL NOT NULL,
    b REAL NOT NULL,
    share REAL NOT NULL,
    PRIMARY KEY (frame, place)
) STRICT, WITHOUT ROWID;
DROP TABLE word;
CREATE VIRTUAL TABLE word USING fts5 (
    title, alt, dated, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame,
    tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3'
);
INSERT INTO word (rowid, title, alt, dated, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame)
SELECT p.id, p.title, p.alt, p.dated, p.film, p.batch, p.place, p.people, p.subject, p.inscription, p.condition, p.rights, p.note,
       COALESCE(b.name, ''), COALESCE(s.name, ''),
       COALESCE((SELECT group_concat(f.name, ' ') FROM frame f WHERE f.print = p.id), '')
FROM print p LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve;
