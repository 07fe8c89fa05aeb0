-- The two small pictures of a frame are most of its figures, and are needed only to compare frames
-- that were never compared before, or to measure a light: they lie apart, so that a session is opened
-- without them.
CREATE TABLE pictures (
  fingerprint TEXT PRIMARY KEY,
  small       BLOB NOT NULL,               -- session.Figures.Small
  grey        BLOB NOT NULL                -- session.Figures.Grey
) STRICT;
