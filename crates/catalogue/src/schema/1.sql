-- Form 1 of the catalogue. Never changed: what comes later is a further file.

-- Words about the project itself: its id, when it was begun.
CREATE TABLE project (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;

CREATE TABLE box (id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE COLLATE NOCASE) STRICT;
CREATE TABLE sleeve (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    box INTEGER NOT NULL REFERENCES box,
    name TEXT NOT NULL COLLATE NOCASE,
    UNIQUE (box, name)
) STRICT;
-- Frames of one unchanged rig.
CREATE TABLE sitting (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    camera TEXT NOT NULL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    began TEXT,
    ended TEXT,
    note TEXT NOT NULL DEFAULT ''
) STRICT;

-- The physical object. AUTOINCREMENT: a number once given is never given again.
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
) STRICT;

-- An exposure file, never written to.
CREATE TABLE frame (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    blake3 TEXT NOT NULL UNIQUE,
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
    added TEXT NOT NULL
) STRICT;
CREATE INDEX frame_print ON frame (print);
CREATE INDEX frame_name ON frame (name COLLATE NOCASE);

CREATE TABLE edit (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE COLLATE NOCASE,
    kind TEXT NOT NULL CHECK (kind IN ('wide', 'tight', 'sequence'))
) STRICT;
CREATE TABLE chosen (
    id INTEGER PRIMARY KEY,
    edit INTEGER NOT NULL REFERENCES edit,
    print INTEGER NOT NULL REFERENCES print,
    place INTEGER NOT NULL,
    UNIQUE (edit, print)
) STRICT;
CREATE INDEX chosen_print ON chosen (print);

CREATE TABLE hand_off (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    place TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE handed (
    id INTEGER PRIMARY KEY,
    hand_off INTEGER NOT NULL REFERENCES hand_off,
    print INTEGER NOT NULL REFERENCES print,
    place INTEGER NOT NULL,
    UNIQUE (hand_off, print)
) STRICT;

-- What finishing found and made, as the frame's report has it. Not part of the journal: it mirrors what lies on disk.
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
CREATE TABLE recipe (hash TEXT PRIMARY KEY, json TEXT NOT NULL) STRICT;
-- What the print looks like, small, to tell a reshoot from a sibling.
CREATE TABLE likeness (frame INTEGER PRIMARY KEY, lattice BLOB NOT NULL) STRICT;

-- The journal: one entry for each thing somebody did, with every row it changed.
CREATE TABLE entry (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    says TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('done', 'undone', 'dropped'))
) STRICT;
CREATE TABLE change (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    entry INTEGER NOT NULL REFERENCES entry,
    what TEXT NOT NULL,
    row INTEGER NOT NULL,
    before TEXT,
    after TEXT
) STRICT;
CREATE INDEX change_entry ON change (entry);
-- The entry being written, while it is.
CREATE TABLE open_entry (id INTEGER NOT NULL) STRICT;
-- Prints whose words must be indexed again before the change ends.
CREATE TABLE stale (print INTEGER PRIMARY KEY) STRICT;
-- Prints whose sidecars are older than what is known, each with the turn in which it changed.
CREATE TABLE unwritten (print INTEGER PRIMARY KEY, turn INTEGER NOT NULL) STRICT;

CREATE VIRTUAL TABLE word USING fts5 (
    title, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame,
    tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3'
);
