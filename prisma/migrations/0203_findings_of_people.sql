-- A finding that no task answers waits for a person: who saw it, who dealt with it, and how.
ALTER TABLE finding ADD COLUMN found_by_person_id uuid NULL;
ALTER TABLE finding ADD COLUMN settled_by_person_id uuid NULL;
ALTER TABLE finding ADD COLUMN settled_note text NOT NULL DEFAULT '';
ALTER TABLE finding ADD FOREIGN KEY (organisation_id, found_by_person_id) REFERENCES person (organisation_id, id);
ALTER TABLE finding ADD FOREIGN KEY (organisation_id, settled_by_person_id) REFERENCES person (organisation_id, id);
CREATE INDEX finding_waiting_idx ON finding (organisation_id, found_on) WHERE settled_on IS NULL AND service_task_id IS NULL;
