-- Form 2: what is seen, for who cannot see it; found by its words like the others.

ALTER TABLE print ADD COLUMN alt TEXT NOT NULL DEFAULT '';
DROP TABLE word;
CREATE VIRTUAL TABLE word USING fts5 (
    title, alt, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame,
    tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3'
);
INSERT INTO word (rowid, title, alt, film, batch, place, people, subject, inscription, condition, rights, note, box, sleeve, frame)
SELECT p.id, p.title, p.alt, p.film, p.batch, p.place, p.people, p.subject, p.inscription, p.condition, p.rights, p.note,
       COALESCE(b.name, ''), COALESCE(s.name, ''),
       COALESCE((SELECT group_concat(f.name, ' ') FROM frame f WHERE f.print = p.id), '')
FROM print p LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve;
