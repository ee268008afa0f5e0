-- Form 5: where each thing was done, so that undo takes back what was done there: a room of the desk's page ("table", "print/17",
-- "hand"), a take-in as a whole ("take 41"), or nothing: said on the command line. What took frames in before this form is a take-in.

ALTER TABLE entry ADD COLUMN room TEXT NOT NULL DEFAULT '';
UPDATE entry SET room = 'take' WHERE id IN (SELECT entry FROM change WHERE what = 'frame');
CREATE INDEX entry_room ON entry (room, state);
-- What was done since to a row.
CREATE INDEX change_row ON change (what, row);
