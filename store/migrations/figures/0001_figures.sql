-- What the pixels of a file say, by the fingerprint of its bytes. All of it can be
-- computed again from the photographs, which is why it has a file of its own: the log
-- beside it stays small enough to be copied every day.
CREATE TABLE figures (
  fingerprint TEXT PRIMARY KEY,
  version     INTEGER NOT NULL,            -- session.FiguresVersion
  figures     BLOB NOT NULL                -- gob of session.Figures
) STRICT;
