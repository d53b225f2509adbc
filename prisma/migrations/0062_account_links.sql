-- An invitation, or the way back to a forgotten password: a link by mail that works once. The link's secret is a seal over its id
-- and is kept nowhere; ends by the database's own time, as sessions do.
CREATE TABLE account_link (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('invitation', 'reset')),
  invited_by text NOT NULL DEFAULT '',
  created_at timestamptz NOT NULL,
  expires_at timestamptz NOT NULL,
  used_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
CREATE INDEX account_link_person_idx ON account_link (organisation_id, person_id);
ALTER TABLE account_link ENABLE ROW LEVEL SECURITY;
ALTER TABLE account_link FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON account_link TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON account_link TO tapewarden_app;
