-- Form 3: prints of nearly the same picture lie on one another. A print lies in one stack at most; one that somebody lifted out
-- keeps a line without a stack, so that no rule lays it back.

CREATE TABLE stacked (
    id INTEGER PRIMARY KEY,
    print INTEGER NOT NULL UNIQUE REFERENCES print,
    stack INTEGER,
    place INTEGER NOT NULL,
    laid_by TEXT NOT NULL CHECK (laid_by IN ('rule', 'person'))
) STRICT;
CREATE INDEX stacked_stack ON stacked (stack);
