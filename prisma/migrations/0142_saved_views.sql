-- Filters of a list that a person keeps under a name; theirs alone.
CREATE TABLE saved_view (
  organisation_id uuid NOT NULL,
  id uuid NOT NULL,
  person_id uuid NOT NULL,
  place text NOT NULL CHECK (place IN ('coming_up', 'machines', 'stoppages')),
  name text NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  search text NOT NULL CHECK (length(search) <= 1000),
  created_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
CREATE UNIQUE INDEX saved_view_name_key ON saved_view (organisation_id, person_id, place, lower(name));
ALTER TABLE saved_view ENABLE ROW LEVEL SECURITY;
ALTER TABLE saved_view FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON saved_view TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON saved_view TO tapewarden_app;
