-- The digest that told a work order's technician of it; told anew when it is issued again or given to somebody else.
ALTER TABLE work_order ADD COLUMN told_message_id uuid NULL;
ALTER TABLE work_order ADD FOREIGN KEY (organisation_id, told_message_id) REFERENCES message (organisation_id, id);
CREATE INDEX work_order_told_idx ON work_order (organisation_id, told_message_id) WHERE told_message_id IS NOT NULL;
CREATE INDEX work_order_untold_idx ON work_order (organisation_id, warehouse_id) WHERE told_message_id IS NULL AND state = 'issued';
CREATE FUNCTION tell_order_anew() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.technician_id IS DISTINCT FROM OLD.technician_id OR (NEW.state = 'issued' AND OLD.state <> 'issued') THEN
    NEW.told_message_id := NULL;
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER tell_order_anew BEFORE UPDATE ON work_order FOR EACH ROW EXECUTE FUNCTION tell_order_anew();
