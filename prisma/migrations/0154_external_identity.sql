-- Who signs in by the organisation's own provider (OpenID Connect): a person here, and who they are there. Made by the first sign-in
-- with a verified address to which an invitation was sent; from then on the subject counts, not the address.
CREATE TABLE external_identity (
  organisation_id uuid NOT NULL,
  issuer text NOT NULL CHECK (length(issuer) BETWEEN 1 AND 500),
  subject text NOT NULL CHECK (length(subject) BETWEEN 1 AND 255),
  person_id uuid NOT NULL,
  created_at timestamptz NOT NULL,
  last_used_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, issuer, subject),
  UNIQUE (organisation_id, issuer, person_id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
ALTER TABLE external_identity ENABLE ROW LEVEL SECURITY;
ALTER TABLE external_identity FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON external_identity TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON external_identity TO tapewarden_app;
