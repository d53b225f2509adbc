-- How good the own dates have been: what a forecast made on the day after a reset said, and the day on which it came true.
-- Worked out from evidence and records by the nightly work; early_on NULL: no forecast was possible then, so none is scored.
CREATE TABLE scored_date (
  organisation_id uuid NOT NULL,
  machine_id uuid NOT NULL,
  service_task_id uuid NOT NULL,
  done_on date NOT NULL,
  warehouse_id uuid NOT NULL,
  trigger_kind text NOT NULL CHECK (trigger_kind IN ('usage', 'wear', 'life')),
  early_on date NULL,
  likely_on date NULL,
  late_on date NULL,
  true_on date NOT NULL,
  share_below double precision NOT NULL CHECK (share_below BETWEEN 0 AND 1),
  share_above double precision NOT NULL CHECK (share_above BETWEEN 0 AND 1),
  scored_on date NOT NULL,
  PRIMARY KEY (organisation_id, machine_id, service_task_id, done_on),
  CHECK (early_on <= likely_on AND likely_on <= late_on),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id),
  FOREIGN KEY (organisation_id, service_task_id) REFERENCES service_task (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id)
);
COMMENT ON COLUMN scored_date.share_below IS 'Before the early day: 0 or 1, in between where the true day is the early day itself and the forecast has an atom there.';
CREATE INDEX scored_date_newest_idx ON scored_date (organisation_id, done_on DESC, machine_id, service_task_id);
ALTER TABLE scored_date ENABLE ROW LEVEL SECURITY;
ALTER TABLE scored_date FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON scored_date TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON scored_date TO tapewarden_app;

ALTER TABLE warehouse ADD COLUMN dates_scored_on date NULL;
