-- Times are RFC 3339 text with their offset, since a clock reading without its zone is
-- half the truth. Booleans are 0 or 1. A uid names a thing across logs, so that two
-- logs can be merged without doubles; an id names it within this one.

CREATE TABLE sessions (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  uid     TEXT NOT NULL UNIQUE,
  dir     TEXT NOT NULL UNIQUE,
  started TEXT NOT NULL
) STRICT;

-- Columns beside meta repeat what is searched or summed up; meta is the whole.
CREATE TABLE frames (
  id           INTEGER PRIMARY KEY AUTOINCREMENT,
  session_id   INTEGER NOT NULL REFERENCES sessions(id) ON DELETE CASCADE,
  fingerprint  TEXT NOT NULL,
  name         TEXT NOT NULL,
  pairs        TEXT NOT NULL,              -- JSON array of names
  size         INTEGER NOT NULL,
  modified     TEXT NOT NULL,
  set_aside    INTEGER NOT NULL CHECK (set_aside IN (0, 1)),
  gone         INTEGER NOT NULL CHECK (gone IN (0, 1)),
  taken        TEXT,
  f_number     REAL,
  meta_version INTEGER NOT NULL,
  meta         TEXT NOT NULL,              -- JSON
  UNIQUE (session_id, fingerprint)
) STRICT;
CREATE INDEX frames_by_fingerprint ON frames(fingerprint);

-- A setup that was undone before anything else happened is hidden, and comes back when
-- it is done again.
CREATE TABLE setups (
  id            INTEGER PRIMARY KEY AUTOINCREMENT,
  uid           TEXT NOT NULL UNIQUE,
  session_id    INTEGER NOT NULL REFERENCES sessions(id) ON DELETE CASCADE,
  after_frame   TEXT NOT NULL,             -- fingerprint, '' from the first frame
  logged        TEXT NOT NULL,
  changed       TEXT NOT NULL,             -- decides which of two logs is right
  subject       TEXT NOT NULL,
  background    TEXT NOT NULL,
  support       TEXT NOT NULL,
  lens          TEXT NOT NULL,
  notes         TEXT NOT NULL,
  magnification REAL CHECK (magnification > 0),
  hidden        INTEGER NOT NULL DEFAULT 0 CHECK (hidden IN (0, 1))
) STRICT;
CREATE INDEX setups_by_session ON setups(session_id);

CREATE TABLE lights (
  setup_id      INTEGER NOT NULL REFERENCES setups(id) ON DELETE CASCADE,
  place         INTEGER NOT NULL,
  kind          TEXT NOT NULL,
  azimuth_deg   REAL NOT NULL CHECK (azimuth_deg >= 0 AND azimuth_deg < 360),
  elevation_deg REAL NOT NULL CHECK (elevation_deg BETWEEN -90 AND 90),
  distance_cm   REAL CHECK (distance_cm > 0),
  modifier      TEXT NOT NULL,
  power         TEXT NOT NULL,
  colour_k      INTEGER,
  PRIMARY KEY (setup_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE tags (
  setup_id INTEGER NOT NULL REFERENCES setups(id) ON DELETE CASCADE,
  place    INTEGER NOT NULL,
  tag      TEXT NOT NULL,
  PRIMARY KEY (setup_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE frame_groups (
  session_id INTEGER NOT NULL REFERENCES sessions(id) ON DELETE CASCADE,
  id         INTEGER NOT NULL,             -- stable within the session
  place      INTEGER NOT NULL,             -- in time order
  kind       TEXT NOT NULL CHECK (kind IN ('marker', 'stack', 'single', 'test')),
  confidence REAL NOT NULL,
  question   TEXT NOT NULL,
  name       TEXT NOT NULL,
  setup_id   INTEGER REFERENCES setups(id),
  PRIMARY KEY (session_id, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX frame_groups_by_setup ON frame_groups(setup_id);

CREATE TABLE group_frames (
  session_id INTEGER NOT NULL,
  group_id   INTEGER NOT NULL,
  place      INTEGER NOT NULL,
  frame_id   INTEGER NOT NULL UNIQUE REFERENCES frames(id) ON DELETE CASCADE,
  PRIMARY KEY (session_id, group_id, place),
  FOREIGN KEY (session_id, group_id) REFERENCES frame_groups(session_id, id) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

-- The seam before a group; the first group of a session has none.
CREATE TABLE seams (
  session_id INTEGER NOT NULL,
  group_id   INTEGER NOT NULL,
  confidence REAL NOT NULL,
  PRIMARY KEY (session_id, group_id),
  FOREIGN KEY (session_id, group_id) REFERENCES frame_groups(session_id, id) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE TABLE seam_reasons (
  session_id INTEGER NOT NULL,
  group_id   INTEGER NOT NULL,
  place      INTEGER NOT NULL,             -- strongest first
  rule       TEXT NOT NULL,
  detail     TEXT NOT NULL,
  PRIMARY KEY (session_id, group_id, place),
  FOREIGN KEY (session_id, group_id) REFERENCES seams(session_id, group_id) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE TABLE edits (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  uid        TEXT NOT NULL UNIQUE,
  session_id INTEGER NOT NULL REFERENCES sessions(id) ON DELETE CASCADE,
  kind       TEXT NOT NULL,
  frame      TEXT NOT NULL,                -- fingerprint, '' when the edit is about none
  group_kind TEXT NOT NULL,
  text       TEXT NOT NULL,
  setup      TEXT,                         -- JSON
  before     TEXT,                         -- JSON
  words      TEXT NOT NULL,
  made       TEXT NOT NULL,
  undone     INTEGER NOT NULL CHECK (undone IN (0, 1))
) STRICT;
CREATE INDEX edits_by_session ON edits(session_id);

-- What follows is derived from the tables above, in the same transaction that changes
-- them, so that a search over a hundred thousand setups reads little. Hidden setups have
-- no rows here.

-- What was shot under a setup.
CREATE TABLE shot (
  setup_id  INTEGER PRIMARY KEY REFERENCES setups(id) ON DELETE CASCADE,
  stacks    INTEGER NOT NULL,
  frames    INTEGER NOT NULL,
  taken     TEXT,
  apertures TEXT NOT NULL,                 -- JSON array of f-numbers, ascending
  cover     TEXT NOT NULL                  -- name of a frame, '' when there is none
) STRICT;

-- What a setup is filtered by. A lit column has a bit for each cell of the wheel that
-- holds a light of that kind: bit 4 * side + height, sides clockwise from the front,
-- heights from the table up. lit is all of them together.
CREATE TABLE facets (
  setup_id      INTEGER PRIMARY KEY REFERENCES setups(id) ON DELETE CASCADE,
  at            INTEGER NOT NULL,          -- clock reading of the day, microseconds since 1970
  lit           INTEGER NOT NULL,
  lit_led       INTEGER NOT NULL,
  lit_flash     INTEGER NOT NULL,
  lit_lamp      INTEGER NOT NULL,
  lit_window    INTEGER NOT NULL,
  lit_card      INTEGER NOT NULL,
  lit_flag      INTEGER NOT NULL,
  magnification REAL,
  f_min         REAL,
  f_max         REAL
) STRICT;
CREATE INDEX facets_by_date ON facets(at, setup_id, lit, lit_led, lit_flash, lit_lamp, lit_window, lit_card, lit_flag, magnification, f_min, f_max);

-- The words of a setup, folded to plain small letters before they come here; rowid is the
-- setup's id. Emoji are words of their own.
CREATE VIRTUAL TABLE setup_words USING fts5(
  subject, background, support, lens, notes, tags, lights,
  content = '', contentless_delete = 1, prefix = '1 2 3',
  tokenize = "unicode61 remove_diacritics 0 categories 'L* M* N* Co So'"
);

-- Every word that ever stood in a setup, for mistyped ones. A word that no setup holds
-- any more does no harm: it finds nothing.
CREATE TABLE words (term TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
