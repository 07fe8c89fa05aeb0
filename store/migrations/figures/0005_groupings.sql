-- How a session was grouped when it was last left, with a key of all that follows from.
CREATE TABLE groupings (
  session INTEGER PRIMARY KEY,             -- its number in the log
  key     TEXT NOT NULL,
  groups  BLOB NOT NULL                    -- JSON of session.Group, a list
) STRICT;
