-- Proofs of stacks (blends at preview size), by all that they follow from: the frames without
-- those set aside, the character, the touch-ups.
CREATE TABLE proofs (
  number  INTEGER PRIMARY KEY AUTOINCREMENT, -- the order in which they were made
  key     TEXT NOT NULL UNIQUE,
  version INTEGER NOT NULL,                  -- session.ProofVersion
  stack   TEXT NOT NULL,                     -- fingerprint of the stack's first frame
  about   BLOB NOT NULL,                     -- JSON of session.Proof
  picture BLOB NOT NULL                      -- JPEG, upright
) STRICT;
CREATE INDEX proofs_stack ON proofs (stack, number);
