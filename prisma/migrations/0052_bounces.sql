-- Mail that came back (RFC 3464), once each; and why an address takes no more.
CREATE TABLE bounce (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  source_key text NOT NULL,
  person_id uuid NOT NULL,
  message_id uuid NULL,
  address text NOT NULL,
  kind text NOT NULL CHECK (kind IN ('hard', 'soft')),
  status_code text NOT NULL DEFAULT '',
  diagnostic text NOT NULL DEFAULT '',
  suppressed boolean NOT NULL DEFAULT false,
  received_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  UNIQUE (organisation_id, source_key),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id),
  FOREIGN KEY (organisation_id, message_id) REFERENCES message (organisation_id, id)
);
CREATE INDEX bounce_person_idx ON bounce (organisation_id, person_id, received_at);

ALTER TABLE bounce ENABLE ROW LEVEL SECURITY;
ALTER TABLE bounce FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON bounce TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT ON bounce TO tapewarden_app;

ALTER TABLE person ADD COLUMN mail_refused_reason text NULL;

-- A notification names the mail by its Message-ID and knows no organisation.
CREATE POLICY directory_reads ON message FOR SELECT TO tapewarden_directory USING (true);
GRANT SELECT (organisation_id, id, person_id, to_address) ON message TO tapewarden_directory;
CREATE FUNCTION directory_message(asked uuid) RETURNS TABLE (organisation_id uuid, person_id uuid, to_address text)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
  AS 'SELECT organisation_id, person_id, to_address FROM message WHERE id = asked';
GRANT CREATE ON SCHEMA public TO tapewarden_directory;
ALTER FUNCTION directory_message(uuid) OWNER TO tapewarden_directory;
REVOKE CREATE ON SCHEMA public FROM tapewarden_directory;
REVOKE ALL ON FUNCTION directory_message(uuid) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION directory_message(uuid) TO tapewarden_app;
CREATE INDEX message_id_idx ON message (id);
