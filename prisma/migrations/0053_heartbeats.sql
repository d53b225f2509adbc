-- What each process last said of itself and of what should have moved: a figure that is old says that nobody looks.
CREATE TABLE heartbeat (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  process text NOT NULL CHECK (length(process) BETWEEN 1 AND 200),
  seen_at timestamptz NOT NULL,
  clock_difference_ms double precision NOT NULL,
  queue_answers boolean NOT NULL,
  jobs jsonb NOT NULL DEFAULT '{}',
  unsaid_reminders integer NOT NULL,
  oldest_unsaid_seconds double precision NOT NULL,
  PRIMARY KEY (organisation_id, process)
);
ALTER TABLE heartbeat ENABLE ROW LEVEL SECURITY;
ALTER TABLE heartbeat FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON heartbeat TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON heartbeat TO tapewarden_app;
