-- Care that use made due and that came inside its window: the next amount counts from the nominal point, which lies so many whole
-- intervals after the ledger's total on that day. NULL: use counts from the day on which it was done.
ALTER TABLE service_record
  ADD COLUMN use_anchor_on date NULL,
  ADD COLUMN use_anchor_unit text NULL CHECK (use_anchor_unit IN ('strips', 'metres', 'motor_minutes')),
  ADD COLUMN use_anchor_amount double precision NOT NULL DEFAULT 0,
  ADD CHECK ((use_anchor_on IS NULL) = (use_anchor_unit IS NULL));

-- Hours of technicians' work that there are in a week, over which first looks are spread. NULL: not known.
ALTER TABLE warehouse ADD COLUMN technician_hours_a_week double precision NULL CHECK (technician_hours_a_week > 0 AND technician_hours_a_week <= 10000);
