-- Photos taken on site, small and without what a camera writes beside the picture; seen by whoever may see the machine.
CREATE TABLE photo (
  organisation_id uuid NOT NULL REFERENCES organisation (id),
  id uuid NOT NULL,
  machine_id uuid NOT NULL,
  work_order_id uuid NULL,
  person_id uuid NOT NULL,
  caption text NOT NULL DEFAULT '',
  width_px integer NOT NULL CHECK (width_px BETWEEN 1 AND 4096),
  height_px integer NOT NULL CHECK (height_px BETWEEN 1 AND 4096),
  content bytea NOT NULL CHECK (octet_length(content) <= 1048576),
  taken_at timestamptz NOT NULL,
  received_at timestamptz NOT NULL,
  PRIMARY KEY (organisation_id, id),
  FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, work_order_id) REFERENCES work_order (organisation_id, id),
  FOREIGN KEY (organisation_id, person_id) REFERENCES person (organisation_id, id)
);
CREATE INDEX photo_machine_idx ON photo (organisation_id, machine_id, taken_at);
CREATE INDEX photo_order_idx ON photo (organisation_id, work_order_id);
-- A picture is packed already.
ALTER TABLE photo ALTER COLUMN content SET STORAGE EXTERNAL;
ALTER TABLE photo ENABLE ROW LEVEL SECURITY;
ALTER TABLE photo FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON photo TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, DELETE ON photo TO tapewarden_app;
