-- What a phone said last that it still keeps for a person, so that after its storage was cleared the server can name what is missing.
CREATE TABLE phone_word (
  organisation_id uuid NOT NULL,
  -- Made by the phone with its storage, and gone with it.
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  -- The sign-in it was said under: a second storage under the same one means that the first was cleared. NULL: by a link.
  session_id uuid NULL,
  first_said_at timestamptz NOT NULL,
  last_said_at timestamptz NOT NULL,
  -- [{id, what, madeAt}]: entries that had not been answered then.
  kept jsonb NOT NULL DEFAULT '[]',
  cleared_at timestamptz NULL,
  PRIMARY KEY (organisation_id, id, person_id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
CREATE INDEX phone_word_person_idx ON phone_word (organisation_id, person_id);
ALTER TABLE phone_word ENABLE ROW LEVEL SECURITY;
ALTER TABLE phone_word FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON phone_word TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON phone_word TO tapewarden_app;
