-- What the photographer told of cameras and lenses, and how sharp sharp is to him. Both
-- sides, or the pupil magnification, NULL: it was told once and is forgotten, which holds
-- against another log that still knows it. changed decides which of two logs is right.
CREATE TABLE cameras (
  make             TEXT NOT NULL,
  model            TEXT NOT NULL,
  sensor_width_mm  REAL CHECK (sensor_width_mm > 0),
  sensor_height_mm REAL CHECK (sensor_height_mm > 0),
  changed          TEXT NOT NULL,
  PRIMARY KEY (make, model)
) STRICT, WITHOUT ROWID;

CREATE TABLE lenses (
  name                TEXT PRIMARY KEY,
  pupil_magnification REAL CHECK (pupil_magnification > 0),
  changed             TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- The circle of confusion: a convention by its key, else a diameter in mm.
CREATE TABLE circle (
  one        INTEGER PRIMARY KEY CHECK (one = 1),
  convention TEXT NOT NULL,
  mm         REAL CHECK (mm > 0),
  changed    TEXT NOT NULL
) STRICT;

-- The lenses that frames were taken with are summed up from this alone.
ALTER TABLE frames ADD COLUMN lens TEXT GENERATED ALWAYS AS (json_extract(meta, '$.Lens')) VIRTUAL;
ALTER TABLE frames ADD COLUMN focal_mm REAL GENERATED ALWAYS AS (json_extract(meta, '$.FocalLengthMM')) VIRTUAL;
CREATE INDEX frames_by_lens ON frames(lens, focal_mm, taken) WHERE lens <> '';
