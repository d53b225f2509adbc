-- Shared tablets: a device of one warehouse, on which each person begins a turn with a short code of their own.
CREATE TABLE shared_tablet (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
  secret_hash bytea NOT NULL UNIQUE,
  made_by uuid NOT NULL,
  made_at timestamptz NOT NULL,
  last_seen_at timestamptz NULL,
  ended_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id),
  FOREIGN KEY (organisation_id, made_by) REFERENCES person (organisation_id, id)
);
ALTER TABLE shared_tablet ENABLE ROW LEVEL SECURITY;
ALTER TABLE shared_tablet FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON shared_tablet TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON shared_tablet TO tapewarden_app;

-- Wrong codes are counted by person and kept here, so that neither a restart nor a second process forgives them.
ALTER TABLE person ADD COLUMN short_code_set_at timestamptz NULL;
ALTER TABLE person ADD COLUMN short_code_wrong integer NOT NULL DEFAULT 0 CHECK (short_code_wrong >= 0);
ALTER TABLE person ADD COLUMN short_code_waits_until timestamptz NULL;

-- A turn is a session that is good from this tablet's pages alone.
ALTER TABLE session ADD COLUMN tablet_id uuid NULL;
ALTER TABLE session ADD FOREIGN KEY (organisation_id, tablet_id) REFERENCES shared_tablet (organisation_id, id);

GRANT SELECT (organisation_id, id, secret_hash, ended_at) ON shared_tablet TO tapewarden_directory;
CREATE POLICY directory_reads ON shared_tablet FOR SELECT TO tapewarden_directory USING (true);
CREATE FUNCTION directory_tablet(asked bytea) RETURNS TABLE (organisation_id uuid, tablet_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, id FROM shared_tablet WHERE secret_hash = asked AND ended_at IS NULL';
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_tablet(bytea) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_tablet(bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_tablet(bytea) TO tapewarden_app;
