-- Form 4: one exposure may show several prints. Each of them is a frame of its own here, with the file in common: `part` of `parts`
-- in reading order. The hash alone no longer names a frame, so the table is made anew; numbers given are not given again.

PRAGMA defer_foreign_keys = ON;
CREATE TABLE frame_before AS SELECT * FROM frame;
CREATE TABLE frame_numbers AS SELECT seq FROM sqlite_sequence WHERE name = 'frame';
DROP TABLE frame;
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
INSERT INTO frame (id, blake3, name, path, twins, taken, role, role_why, print, print_why, sitting, said, added)
SELECT id, blake3, name, path, twins, taken, role, role_why, print, print_why, sitting, said, added FROM frame_before;
DELETE FROM sqlite_sequence WHERE name = 'frame';
INSERT INTO sqlite_sequence (name, seq) SELECT 'frame', seq FROM frame_numbers;
CREATE INDEX frame_print ON frame (print);
CREATE INDEX frame_name ON frame (name COLLATE NOCASE);
DROP TABLE frame_before;
DROP TABLE frame_numbers;
