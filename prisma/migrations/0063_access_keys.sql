-- Keys for programs. Only the hash of a key is kept; what it may do and where is written beside it.
CREATE TABLE access_key (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
  scopes text[] NOT NULL CHECK (cardinality(scopes) > 0),
  -- NULL: every warehouse.
  warehouse_ids uuid[] NULL,
  secret_hash bytea NOT NULL UNIQUE,
  hint text NOT NULL,
  created_by uuid NOT NULL,
  created_at timestamptz NOT NULL,
  expires_at timestamptz NOT NULL,
  last_used_at timestamptz NULL,
  revoked_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, created_by) REFERENCES person (organisation_id, id)
);
ALTER TABLE access_key ENABLE ROW LEVEL SECURITY;
ALTER TABLE access_key FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON access_key TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON access_key TO tapewarden_app;

GRANT SELECT (organisation_id, id, secret_hash, expires_at, revoked_at) ON access_key TO tapewarden_directory;
CREATE POLICY directory_reads ON access_key FOR SELECT TO tapewarden_directory USING (true);
CREATE FUNCTION directory_access_key(asked bytea) RETURNS TABLE (organisation_id uuid, access_key_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, id FROM access_key WHERE secret_hash = asked AND revoked_at IS NULL AND expires_at > clock_timestamp()';
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_access_key(bytea) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_access_key(bytea) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_access_key(bytea) TO tapewarden_app;
