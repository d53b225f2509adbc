-- Machines that came by an import and those that were registered by count leave the books by the same rule: it stands once.
CREATE FUNCTION remove_unused_machines(ids uuid[]) RETURNS integer
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  org uuid := current_organisation();
  parts uuid[];
  removed integer;
BEGIN
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

CREATE OR REPLACE FUNCTION undo_imported_machines(asked_import uuid) RETURNS integer
  LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT remove_unused_machines((SELECT array_agg((effect ->> 'machineId')::uuid) FROM import_row
    WHERE organisation_id = current_organisation() AND import_id = asked_import AND applied AND outcome = 'new' AND effect ? 'machineId'));
$$;
CREATE OR REPLACE FUNCTION undo_registered_machines(asked_change uuid) RETURNS integer
  LANGUAGE sql SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT remove_unused_machines((SELECT array_agg((one ->> 'machineId')::uuid) FROM fleet_change, jsonb_array_elements(effects) one
    WHERE organisation_id = current_organisation() AND id = asked_change AND kind = 'registered' AND undone_at IS NULL));
$$;

-- The application reaches it through the two above alone: they look for what is unused themselves.
GRANT CREATE ON SCHEMA public TO tapewarden_undo;
ALTER FUNCTION remove_unused_machines(uuid[]) OWNER TO tapewarden_undo;
REVOKE CREATE ON SCHEMA public FROM tapewarden_undo;
REVOKE ALL ON FUNCTION remove_unused_machines(uuid[]) FROM PUBLIC;
