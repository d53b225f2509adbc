-- Two entries that disagree: a person says which counts, and that is kept with the entry that came second.
ALTER TABLE work_entry
  ADD COLUMN settled_at timestamptz NULL,
  ADD COLUMN settled_by text NULL,
  ADD COLUMN settled_counts text NULL CHECK (settled_counts IN ('first', 'second')),
  ADD COLUMN settled_note text NOT NULL DEFAULT '',
  ADD CHECK ((settled_at IS NULL) = (settled_counts IS NULL) AND (settled_at IS NULL) = (settled_by IS NULL)),
  ADD CHECK (settled_at IS NULL OR outcome = 'conflict');
CREATE INDEX work_entry_conflict_idx ON work_entry (organisation_id, received_at) WHERE outcome = 'conflict' AND settled_at IS NULL;
