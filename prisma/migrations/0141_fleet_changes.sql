-- What was done to many machines at once, so that it can be taken back: registered by count, changed in bulk, swapped for a spare.
CREATE TABLE fleet_change (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('registered', 'changed', 'swapped')),
  words text NOT NULL,
  machine_count integer NOT NULL CHECK (machine_count >= 0),
  warehouse_ids uuid[] NOT NULL,
  effects jsonb NOT NULL,
  person_id uuid NULL,
  made_at timestamptz NOT NULL,
  undone_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
COMMENT ON COLUMN fleet_change.effects IS 'A machine each: its id, and what it was before and after; registered: its id alone.';
CREATE INDEX fleet_change_newest_idx ON fleet_change (organisation_id, made_at DESC);
ALTER TABLE fleet_change ENABLE ROW LEVEL SECURITY;
ALTER TABLE fleet_change FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON fleet_change TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON fleet_change TO tapewarden_app;
CREATE POLICY undo_registration ON fleet_change TO tapewarden_undo USING (organisation_id = current_organisation());
GRANT SELECT ON fleet_change TO tapewarden_undo;

-- As undo_imported_machines: machines registered by mistake leave the books again, and only while nothing but what the planner
-- derived hangs on them; anything else that refers to one stops it by its foreign key.
CREATE FUNCTION undo_registered_machines(asked_change uuid) RETURNS integer
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  org uuid := current_organisation();
  ids uuid[];
  parts uuid[];
  removed integer;
BEGIN
  SELECT array_agg((one ->> 'machineId')::uuid) INTO ids FROM fleet_change, jsonb_array_elements(effects) one
  WHERE organisation_id = org AND id = asked_change AND kind = 'registered' AND undone_at IS NULL;
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
ALTER FUNCTION undo_registered_machines(uuid) OWNER TO tapewarden_undo;
REVOKE CREATE ON SCHEMA public FROM tapewarden_undo;
REVOKE ALL ON FUNCTION undo_registered_machines(uuid) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION undo_registered_machines(uuid) TO tapewarden_app;
