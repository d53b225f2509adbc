-- A component's history is asked for when it has been in another machine before.
CREATE INDEX service_record_component_idx ON service_record (organisation_id, component_id) WHERE component_id IS NOT NULL;
CREATE INDEX component_placement_component_idx ON component_placement (organisation_id, component_id);
