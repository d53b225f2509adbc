-- The review counts a year's care without touching its rows: a hundred thousand of them on a large fleet.
DROP INDEX occurrence_ended_idx;
CREATE INDEX occurrence_ended_idx ON occurrence (organisation_id, ended_on)
  INCLUDE (machine_id, warehouse_id, state, done_on, late_from, counted_as_missed) WHERE ended_on IS NOT NULL;
-- Few are ever skipped, and each night asks for the newest of them: without this it reads all that ever fell due.
CREATE INDEX occurrence_skipped_idx ON occurrence (organisation_id, machine_id, service_task_id, sequence) WHERE state = 'skipped';
