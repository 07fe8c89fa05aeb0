-- Verdicts on stacks, by all that they follow from: the frames, what must be sharp in
-- them, and how they are judged.
CREATE TABLE checks (
  number  INTEGER PRIMARY KEY AUTOINCREMENT, -- the order in which they were found
  key     TEXT NOT NULL UNIQUE,
  stack   TEXT NOT NULL,                     -- fingerprint of the stack's first frame
  verdict BLOB NOT NULL                      -- JSON of session.Check
) STRICT;
CREATE INDEX checks_stack ON checks (stack, number);
