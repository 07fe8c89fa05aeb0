-- What a setup is filtered by, as one line of text: a search reads all lines once, keeps
-- them in memory, and later only those with a higher rev than it has seen. The line holds
-- numbers with a space between: id; clock reading of the day in microseconds since 1970;
-- for each kind of light (LED panel, window, flash, lamp, card, flag) the cells of the
-- wheel that hold one (bit 4 * side + height, sides clockwise from the front, heights from
-- the table up); magnification, 0 when not measured; the f-numbers shot with, ascending. A hidden
-- setup has its id alone, also when it is forgotten, so that every program that uses the
-- log hears of it.
ALTER TABLE facets RENAME TO old_facets;
CREATE TABLE facets (
  setup_id INTEGER PRIMARY KEY,
  rev      INTEGER NOT NULL,
  line     TEXT NOT NULL
) STRICT;
INSERT INTO facets
  SELECT o.setup_id, 0, concat_ws(' ', o.setup_id, o.at,
    o.lit_led, o.lit_window, o.lit_flash, o.lit_lamp, o.lit_card, o.lit_flag, coalesce(o.magnification, 0.0),
    (SELECT group_concat(a.value, ' ') FROM json_each(shot.apertures) a))
  FROM old_facets o JOIN shot ON shot.setup_id = o.setup_id;
DROP TABLE old_facets;
CREATE INDEX facets_by_rev ON facets(rev);

-- epoch differs in every log, and is drawn anew when a copy is restored.
CREATE TABLE facets_state (
  one   INTEGER PRIMARY KEY CHECK (one = 1),
  epoch TEXT NOT NULL,
  rev   INTEGER NOT NULL
) STRICT;
INSERT INTO facets_state VALUES (1, hex(randomblob(16)), 0);
