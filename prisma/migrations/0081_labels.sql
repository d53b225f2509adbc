-- What stands in the code of a printed label: nothing of ours can be read from it. A new label cancels the old one.
CREATE TABLE machine_label (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  token text NOT NULL CHECK (token ~ '^[0-9A-HJKMNP-TV-Z]{12}$'),
  machine_id uuid NOT NULL,
  made_at timestamptz NOT NULL,
  cancelled_at timestamptz NULL,
  PRIMARY KEY (organisation_id, token),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id) ON DELETE CASCADE
);
CREATE UNIQUE INDEX machine_label_token_key ON machine_label (token);
CREATE UNIQUE INDEX machine_label_in_use_key ON machine_label (organisation_id, machine_id) WHERE cancelled_at IS NULL;
ALTER TABLE machine_label ENABLE ROW LEVEL SECURITY;
ALTER TABLE machine_label FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON machine_label TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON machine_label TO tapewarden_app;

-- A packer scans without an account: which organisation's label is this?
GRANT SELECT ON machine_label TO tapewarden_directory;
CREATE POLICY directory_reads ON machine_label FOR SELECT TO tapewarden_directory USING (true);
CREATE FUNCTION directory_label(asked text) RETURNS TABLE (organisation_id uuid, machine_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, machine_id FROM machine_label WHERE token = asked AND cancelled_at IS NULL';
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_label(text) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_label(text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_label(text) TO tapewarden_app;
