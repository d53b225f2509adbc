-- How many rows came out how is kept beside the import: counting them at each look at the progress took as long as the file was.
ALTER TABLE import ADD COLUMN counts jsonb NOT NULL DEFAULT '{"new": 0, "changed": 0, "unchanged": 0, "refused": 0, "applied": 0}';
UPDATE import i SET counts = (
  SELECT jsonb_build_object('new', count(*) FILTER (WHERE outcome = 'new'), 'changed', count(*) FILTER (WHERE outcome = 'changed'),
    'unchanged', count(*) FILTER (WHERE outcome = 'unchanged'), 'refused', count(*) FILTER (WHERE outcome = 'refused'), 'applied', count(*) FILTER (WHERE applied))
  FROM import_row r WHERE r.organisation_id = i.organisation_id AND r.import_id = i.id);
-- Each row is written again by the dry run and by the writing; with room left on its page it stays there.
ALTER TABLE import_row SET (fillfactor = 50);
