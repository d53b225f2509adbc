-- A file that is being brought into the books, and each of its rows as it came, with what became of it.
CREATE TABLE import (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('warehouses', 'stations', 'machines', 'components', 'evidence', 'service_history')),
  state text NOT NULL CHECK (state IN ('reading', 'to_map', 'checking', 'checked', 'applying', 'applied', 'cancelled', 'failed', 'undone')),
  file_name text NOT NULL CHECK (length(file_name) BETWEEN 1 AND 300),
  headings jsonb NOT NULL DEFAULT '[]',
  column_facts jsonb NOT NULL DEFAULT '[]',
  mapping jsonb NOT NULL DEFAULT '{}',
  date_form text NULL CHECK (date_form IN ('iso', 'dmy', 'mdy')),
  decimal_mark text NULL CHECK (decimal_mark IN ('.', ',')),
  how text NULL CHECK (how IN ('good_rows', 'all_or_nothing')),
  row_count integer NOT NULL DEFAULT 0,
  worked_position integer NOT NULL DEFAULT 0,
  lease_until timestamptz NULL,
  problem text NULL,
  person_id uuid NULL,
  created_at timestamptz NOT NULL,
  ended_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
COMMENT ON COLUMN import.lease_until IS 'While a process works on it; one that has died leaves it to whoever asks next.';

CREATE TABLE import_row (
  organisation_id uuid NOT NULL,
  import_id uuid NOT NULL,
  position integer NOT NULL CHECK (position >= 1),
  line integer NOT NULL,
  cells jsonb NOT NULL,
  key text NULL,
  outcome text NULL CHECK (outcome IN ('new', 'changed', 'unchanged', 'refused')),
  faults jsonb NULL,
  applied boolean NOT NULL DEFAULT false,
  effect jsonb NULL,
  PRIMARY KEY (organisation_id, import_id, position),
  FOREIGN KEY (organisation_id, import_id) REFERENCES import (organisation_id, id) ON DELETE CASCADE
);
COMMENT ON COLUMN import_row.effect IS 'What applying it wrote, so that it can be taken back: ids of what is new, values before of what was changed.';
CREATE INDEX import_row_key_idx ON import_row (organisation_id, import_id, key) WHERE key IS NOT NULL;
CREATE INDEX import_row_refused_idx ON import_row (organisation_id, import_id, position) WHERE outcome = 'refused';

-- Which column meant what, for the next file with the same headings.
CREATE TABLE import_mapping (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  kind text NOT NULL,
  headings text NOT NULL,
  mapping jsonb NOT NULL,
  date_form text NULL,
  decimal_mark text NULL,
  PRIMARY KEY (organisation_id, kind, headings)
);

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['import', 'import_row', 'import_mapping'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY own_organisation ON %I TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO tapewarden_app', t);
  END LOOP;
END $$;

-- Machines that an import brought in by mistake leave the books again, and only such: nothing but what the planner
-- derived hangs on them. The application may not delete machines, occurrences or reminders; this function may, for
-- machines that it finds unused itself. Anything else that refers to one stops it by its foreign key.
DO $$ BEGIN CREATE ROLE tapewarden_undo NOLOGIN NOSUPERUSER NOBYPASSRLS NOINHERIT; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
DO $$ BEGIN EXECUTE format('GRANT tapewarden_undo TO %I', current_user); EXCEPTION WHEN OTHERS THEN NULL; END $$;
DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['machine', 'occurrence', 'reminder', 'work_order', 'work_order_task', 'forecast', 'planning_state', 'ledger_day',
    'placement', 'machine_status_period', 'component', 'component_placement', 'service_record', 'import_row'] LOOP
    EXECUTE format('CREATE POLICY undo_import ON %I TO tapewarden_undo USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT%s ON %I TO tapewarden_undo', CASE WHEN t = 'import_row' THEN '' ELSE ', DELETE' END, t);
  END LOOP;
END $$;
GRANT USAGE ON SCHEMA public TO tapewarden_undo;

CREATE FUNCTION undo_imported_machines(asked_import uuid) RETURNS integer
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  org uuid := current_organisation();
  ids uuid[];
  parts uuid[];
  removed integer;
BEGIN
  SELECT array_agg((effect ->> 'machineId')::uuid) INTO ids FROM import_row
  WHERE organisation_id = org AND import_id = asked_import AND applied AND outcome = 'new' AND effect ? 'machineId';
  IF ids IS NULL THEN RETURN 0; END IF;
  DELETE FROM reminder WHERE organisation_id = org AND message_id IS NULL
    AND occurrence_id IN (SELECT id FROM occurrence WHERE organisation_id = org AND machine_id = ANY (ids));
  DELETE FROM work_order_task WHERE organisation_id = org
    AND work_order_id IN (SELECT id FROM work_order WHERE organisation_id = org AND machine_id = ANY (ids) AND state = 'drafted' AND visit_id IS NULL);
  DELETE FROM work_order WHERE organisation_id = org AND machine_id = ANY (ids) AND state = 'drafted' AND visit_id IS NULL;
  DELETE FROM occurrence WHERE organisation_id = org AND machine_id = ANY (ids) AND state <> 'done';
  DELETE FROM forecast WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM planning_state WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM ledger_day WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM service_record WHERE organisation_id = org AND machine_id = ANY (ids) AND source = 'registration';
  SELECT array_agg(component_id) INTO parts FROM component_placement WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM component_placement WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM component WHERE organisation_id = org AND id = ANY (parts);
  DELETE FROM placement WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM machine_status_period WHERE organisation_id = org AND machine_id = ANY (ids);
  DELETE FROM machine WHERE organisation_id = org AND id = ANY (ids);
  GET DIAGNOSTICS removed = ROW_COUNT;
  RETURN removed;
END $$;
GRANT CREATE ON SCHEMA public TO tapewarden_undo;
ALTER FUNCTION undo_imported_machines(uuid) OWNER TO tapewarden_undo;
REVOKE CREATE ON SCHEMA public FROM tapewarden_undo;
REVOKE ALL ON FUNCTION undo_imported_machines(uuid) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION undo_imported_machines(uuid) TO tapewarden_app;
GRANT EXECUTE ON FUNCTION current_organisation() TO tapewarden_undo;
