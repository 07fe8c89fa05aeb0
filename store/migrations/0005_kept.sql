-- Setups kept under a name, to start from.
CREATE TABLE templates (
  id    INTEGER PRIMARY KEY AUTOINCREMENT,
  name  TEXT NOT NULL UNIQUE,
  setup TEXT NOT NULL,                     -- JSON
  saved TEXT NOT NULL,                     -- decides which of two logs is right
  used  TEXT                               -- NULL before it was
) STRICT;

-- Searches kept under a name, and the last ones that were made (name is NULL).
CREATE TABLE searches (
  id    INTEGER PRIMARY KEY AUTOINCREMENT,
  name  TEXT UNIQUE,
  query TEXT NOT NULL,                     -- JSON
  used  TEXT NOT NULL
) STRICT;

-- The files that stacks were blended into. A stack is known by its first frame, since
-- groups are numbered anew when they are cut otherwise.
CREATE TABLE blends (
  session_id INTEGER NOT NULL REFERENCES sessions(id) ON DELETE CASCADE,
  file       TEXT NOT NULL,
  frame      TEXT NOT NULL,                -- fingerprint
  made       TEXT NOT NULL,
  PRIMARY KEY (session_id, file)
) STRICT, WITHOUT ROWID;
CREATE INDEX blends_by_frame ON blends(session_id, frame);

CREATE INDEX setups_by_subject ON setups(subject);
