-- RFC 5545, 3.8.7.4, for visits as for occurrences: SEQUENCE goes up with every change of day, person or place and never falls.
ALTER TABLE visit ADD COLUMN calendar_sequence integer NOT NULL DEFAULT 0;
ALTER TABLE visit ADD COLUMN calendar_changed_at timestamptz NOT NULL DEFAULT clock_timestamp();
CREATE FUNCTION count_visit_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.visit_on IS DISTINCT FROM OLD.visit_on OR NEW.technician_id IS DISTINCT FROM OLD.technician_id OR NEW.warehouse_id IS DISTINCT FROM OLD.warehouse_id THEN
    NEW.calendar_sequence := OLD.calendar_sequence + 1;
    NEW.calendar_changed_at := clock_timestamp();
  ELSE
    NEW.calendar_sequence := OLD.calendar_sequence;
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER count_visit_change BEFORE UPDATE ON visit FOR EACH ROW EXECUTE FUNCTION count_visit_change();
