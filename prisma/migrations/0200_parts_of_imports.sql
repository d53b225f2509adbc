-- A file of a million rows was a million rows here, each written three times: when it was read, judged and applied. Now as
-- many as are worked on at a time lie together in a part, which is written once; what became of its rows stands beside them.
CREATE TABLE import_part (
  organisation_id uuid NOT NULL,
  import_id uuid NOT NULL,
  first_position integer NOT NULL CHECK (first_position >= 1),
  row_count integer NOT NULL CHECK (row_count >= 1),
  rows jsonb NOT NULL CHECK (jsonb_array_length(rows) = row_count),
  outcomes text NULL CHECK (length(outcomes) = row_count AND outcomes ~ '^[ncurNCU]*$'),
  faults jsonb NULL,
  effects jsonb NULL CHECK (jsonb_array_length(effects) = row_count),
  PRIMARY KEY (organisation_id, import_id, first_position),
  FOREIGN KEY (organisation_id, import_id) REFERENCES import (organisation_id, id) ON DELETE CASCADE
);
COMMENT ON COLUMN import_part.rows IS 'As they came: an array a row, its line in the file first, then its cells.';
COMMENT ON COLUMN import_part.outcomes IS 'A letter a row: new, changed, unchanged, refused; a capital where it was applied.';
COMMENT ON COLUMN import_part.faults IS 'Of refused rows, by their place in the part, from 0.';
COMMENT ON COLUMN import_part.effects IS 'Of applied rows, in their order: what each wrote, so that it can be taken back: ids of what is new, values before of what was changed.';

-- What is there already, in parts as long as the steps of the work on each kind were, so that work under way goes on.
ALTER TABLE import_row NO FORCE ROW LEVEL SECURITY;
ALTER TABLE import NO FORCE ROW LEVEL SECURITY;
INSERT INTO import_part (organisation_id, import_id, first_position, row_count, rows, outcomes, faults, effects)
SELECT r.organisation_id, r.import_id, min(r.position), count(*), jsonb_agg(jsonb_build_array(r.line) || r.cells ORDER BY r.position),
  CASE WHEN bool_and(r.outcome IS NOT NULL) THEN string_agg(CASE WHEN r.applied THEN upper(left(r.outcome, 1)) ELSE left(r.outcome, 1) END, '' ORDER BY r.position) END,
  jsonb_object_agg(((r.position - 1) % s.size)::text, r.faults) FILTER (WHERE r.faults IS NOT NULL),
  CASE WHEN bool_or(r.applied AND r.effect IS NOT NULL) THEN jsonb_agg(CASE WHEN r.applied THEN r.effect END ORDER BY r.position) END
FROM import_row r JOIN import i ON i.organisation_id = r.organisation_id AND i.id = r.import_id
CROSS JOIN LATERAL (SELECT CASE WHEN i.kind IN ('warehouses', 'machines') THEN 50 WHEN i.kind IN ('stations', 'components') THEN 200
  WHEN i.kind = 'service_history' THEN 500 ELSE 2000 END AS size) s
GROUP BY r.organisation_id, r.import_id, (r.position - 1) / s.size;
ALTER TABLE import FORCE ROW LEVEL SECURITY;

ALTER TABLE import_part ENABLE ROW LEVEL SECURITY;
ALTER TABLE import_part FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON import_part TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON import_part TO tapewarden_app;
CREATE POLICY undo_import ON import_part TO tapewarden_undo USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT ON import_part TO tapewarden_undo;

CREATE OR REPLACE FUNCTION undo_imported_machines(asked_import uuid) RETURNS integer
  LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT remove_unused_machines((SELECT array_agg((e.effect ->> 'machineId')::uuid)
    FROM import_part p CROSS JOIN jsonb_array_elements(p.effects) WITH ORDINALITY AS e(effect, place)
    WHERE p.organisation_id = current_organisation() AND p.import_id = asked_import AND substr(p.outcomes, e.place::int, 1) = 'N' AND e.effect ? 'machineId'));
$$;
DROP TABLE import_row;
