-- The grey picture is most of a frame's figures, and is needed only to compare frames that were
-- never compared before: it lies apart, so that a session is opened without it. Figures that
-- were kept before this have it in themselves.
CREATE TABLE greys (
  fingerprint TEXT PRIMARY KEY,
  grey        BLOB NOT NULL                -- session.Figures.Grey
) STRICT;
