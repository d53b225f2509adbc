-- What pages ask for by machine, order or what is still open, of fleets with years of past: without these each is looked for in all rows.
CREATE INDEX placement_machine_idx ON placement (organisation_id, machine_id, from_at);
CREATE INDEX machine_status_period_machine_idx ON machine_status_period (organisation_id, machine_id, from_at);
CREATE INDEX stoppage_open_idx ON stoppage (organisation_id, warehouse_id) WHERE back_in_use_at IS NULL;
CREATE INDEX stoppage_order_idx ON stoppage (organisation_id, work_order_id) WHERE work_order_id IS NOT NULL;
CREATE INDEX work_order_machine_idx ON work_order (organisation_id, machine_id);
CREATE INDEX work_order_technician_idx ON work_order (organisation_id, technician_id, state) WHERE technician_id IS NOT NULL;
CREATE INDEX work_order_visit_idx ON work_order (organisation_id, visit_id) WHERE visit_id IS NOT NULL;
CREATE INDEX measurement_order_idx ON measurement (organisation_id, work_order_id) WHERE work_order_id IS NOT NULL;
CREATE INDEX finding_machine_idx ON finding (organisation_id, machine_id, found_on);
CREATE INDEX finding_order_idx ON finding (organisation_id, work_order_id) WHERE work_order_id IS NOT NULL;
CREATE INDEX part_use_order_idx ON part_use (organisation_id, work_order_id) WHERE work_order_id IS NOT NULL;
CREATE INDEX service_record_occurrence_idx ON service_record (organisation_id, occurrence_id) WHERE occurrence_id IS NOT NULL;
CREATE INDEX occurrence_ended_idx ON occurrence (organisation_id, ended_on) WHERE ended_on IS NOT NULL;
CREATE INDEX part_use_machine_idx ON part_use (organisation_id, machine_id);
CREATE INDEX work_entry_round_idx ON work_entry (organisation_id, machine_id) WHERE kind IN ('round_done', 'round_not_done');
