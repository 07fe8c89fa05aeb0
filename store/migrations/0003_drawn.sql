-- What was drawn on a picture by an edit (a wanted area, a touch-up of a blend), as JSON.
ALTER TABLE edits ADD COLUMN drawn TEXT;
