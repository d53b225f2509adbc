-- A part that is to be ordered by a date, and the digest that said so to whoever orders in the warehouse. The row goes when
-- the part is no longer to be ordered, so that the next need is told anew. message_id NULL: found, and told to nobody yet.
CREATE TABLE part_told (
  organisation_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  part_id uuid NOT NULL,
  found_on date NOT NULL,
  message_id uuid NULL,
  PRIMARY KEY (organisation_id, warehouse_id, part_id),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, part_id) REFERENCES part (organisation_id, id) ON DELETE CASCADE,
  FOREIGN KEY (organisation_id, message_id) REFERENCES message (organisation_id, id)
);
CREATE INDEX part_told_message_idx ON part_told (organisation_id, message_id) WHERE message_id IS NOT NULL;
ALTER TABLE part_told ENABLE ROW LEVEL SECURITY;
ALTER TABLE part_told FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON part_told TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON part_told TO tapewarden_app;

-- Local day on which it was last worked out which parts must be ordered.
ALTER TABLE warehouse ADD COLUMN parts_looked_on date NULL;
