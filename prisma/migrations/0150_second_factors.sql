-- A second factor by one-time codes (RFC 6238), codes for when the phone is gone, and passkeys. All ends by the database's own time.
CREATE TABLE second_factor (
  organisation_id uuid NOT NULL,
  person_id uuid NOT NULL,
  -- Encrypted with a key made from SECRET_KEY: a copy of the database alone makes no codes.
  sealed_secret bytea NOT NULL,
  -- NULL: begun, and not asked for yet.
  confirmed_at timestamptz NULL,
  -- The last step of time whose code was taken: no code counts twice.
  last_step bigint NOT NULL DEFAULT 0,
  -- Wrong codes since the last right one, and when the last of them came: the wait grows with them.
  failures integer NOT NULL DEFAULT 0,
  failed_at timestamptz NULL,
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, person_id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);

CREATE TABLE recovery_code (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  code_hash bytea NOT NULL,
  created_at timestamptz NOT NULL,
  used_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, person_id, code_hash),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);

CREATE TABLE passkey (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  -- Both in base64url, as browsers name them. Unique over all organisations on purpose: it says who signs in.
  credential_id text NOT NULL UNIQUE CHECK (length(credential_id) BETWEEN 1 AND 1400),
  public_key text NOT NULL,
  -- As the authenticator counts; one that goes backwards is a copy. Many count nothing and stay at 0.
  sign_count bigint NOT NULL DEFAULT 0,
  -- True where the maker of the device keeps it on the person's other devices too.
  backed_up boolean NOT NULL DEFAULT false,
  created_at timestamptz NOT NULL,
  last_used_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
CREATE INDEX passkey_person_idx ON passkey (organisation_id, person_id);

-- Challenges carry their own seal and end; what was used once is remembered until it has ended anyway.
CREATE TABLE used_challenge (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  challenge text NOT NULL,
  used_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, challenge)
);

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['second_factor', 'recovery_code', 'passkey', 'used_challenge'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY own_organisation ON %I TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation())', t);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO tapewarden_app', t);
  END LOOP;
END $$;

GRANT SELECT (organisation_id, id, person_id, credential_id) ON passkey TO tapewarden_directory;
CREATE POLICY directory_reads ON passkey FOR SELECT TO tapewarden_directory USING (true);
CREATE FUNCTION directory_passkey(asked text) RETURNS TABLE (organisation_id uuid, passkey_id uuid, person_id uuid)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, id, person_id FROM passkey WHERE credential_id = asked';
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_passkey(text) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_passkey(text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_passkey(text) TO tapewarden_app;
