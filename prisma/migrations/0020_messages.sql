-- One planning pass of a warehouse, cut into chunks of machines. The pass is named by its local day and by the version
-- of the evidence that it read; when its last chunk is done, the warehouse is planned for that day and version.
CREATE TABLE planning_chunk (
  organisation_id uuid NOT NULL,
  warehouse_id uuid NOT NULL,
  planned_for date NOT NULL,
  evidence_version bigint NOT NULL,
  position integer NOT NULL CHECK (position >= 0),
  machine_ids uuid[] NOT NULL,
  created_at timestamptz NOT NULL,
  done_at timestamptz NULL,
  PRIMARY KEY (organisation_id, warehouse_id, planned_for, evidence_version, position),
  FOREIGN KEY (organisation_id, warehouse_id) REFERENCES warehouse (organisation_id, id) ON DELETE CASCADE
);

-- An uncertain message is told again, as 'you may have had this already', in exactly one later digest.
ALTER TABLE message ADD COLUMN folded_into_id uuid NULL;
ALTER TABLE message ADD FOREIGN KEY (organisation_id, folded_into_id) REFERENCES message (organisation_id, id);
CREATE INDEX message_uncertain_idx ON message (organisation_id, person_id) WHERE state = 'uncertain' AND folded_into_id IS NULL;

CREATE INDEX message_folded_idx ON message (organisation_id, folded_into_id) WHERE folded_into_id IS NOT NULL;
CREATE INDEX reminder_message_idx ON reminder (organisation_id, message_id) WHERE message_id IS NOT NULL;

-- Turned off by the link at the end of a digest; what is due then goes to the second person.
ALTER TABLE person ADD COLUMN reminder_mail boolean NOT NULL DEFAULT true;

-- The address that a mail server refused for good. While it is still the person's address, no mail goes there.
ALTER TABLE person ADD COLUMN mail_refused_address text NULL;

ALTER TABLE planning_chunk ENABLE ROW LEVEL SECURITY;
ALTER TABLE planning_chunk FORCE ROW LEVEL SECURITY;
CREATE POLICY own_organisation ON planning_chunk TO tapewarden_app USING (organisation_id = current_organisation()) WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE, DELETE ON planning_chunk TO tapewarden_app;
