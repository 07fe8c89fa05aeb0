-- What searches go by is kept in memory while the log is open, and here in pages: each holds
-- the records of the setups whose number divided by 64 is the page's, since a hundred
-- thousand rows would take longer to hand over than to read. A page that changes gets a
-- higher rev than any before, by which every program that uses the log knows which to read
-- again. Records are described in facets.go and index.go. They are derived from the other
-- tables, in the same transaction that changes those.
DROP TABLE setup_words;
DROP TABLE words;
DROP TABLE facets;
DROP TABLE facets_state;

CREATE TABLE facet_pages (
  page    INTEGER PRIMARY KEY,
  rev     INTEGER NOT NULL,
  records BLOB NOT NULL
) STRICT;
CREATE INDEX facet_pages_by_rev ON facet_pages(rev);

CREATE TABLE word_pages (
  page    INTEGER PRIMARY KEY,
  rev     INTEGER NOT NULL,
  records BLOB NOT NULL
) STRICT;
CREATE INDEX word_pages_by_rev ON word_pages(rev);

-- epoch differs in every log, and is drawn anew when a copy is restored. stale has the
-- program make all that is derived anew when it opens the log; a migration sets it.
CREATE TABLE search_state (
  one    INTEGER PRIMARY KEY CHECK (one = 1),
  epoch  TEXT NOT NULL,
  facets INTEGER NOT NULL,                 -- the highest rev of each kind of page
  words  INTEGER NOT NULL,
  stale  INTEGER NOT NULL CHECK (stale IN (0, 1))
) STRICT;
INSERT INTO search_state VALUES (1, hex(randomblob(16)), 0, 0, 1);

-- Every word that ever stood in a setup, folded to plain small letters.
CREATE TABLE terms (
  id   INTEGER PRIMARY KEY,
  term TEXT NOT NULL UNIQUE
) STRICT;

-- Every modifier that a light ever had: its words, and as it was first written.
CREATE TABLE modifiers (
  id     INTEGER PRIMARY KEY,
  folded TEXT NOT NULL UNIQUE,
  text   TEXT NOT NULL
) STRICT;

ALTER TABLE shot ADD COLUMN shutters TEXT NOT NULL DEFAULT '[]'; -- JSON array of seconds, ascending
ALTER TABLE shot ADD COLUMN blended INTEGER NOT NULL DEFAULT 0;  -- stacks that have been blended
