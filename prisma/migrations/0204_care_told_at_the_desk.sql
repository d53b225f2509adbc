-- Care that was done without an order, as a service firm's, is written down at the desk.
ALTER TABLE service_record DROP CONSTRAINT service_record_source_check;
ALTER TABLE service_record ADD CONSTRAINT service_record_source_check
  CHECK (source IN ('work_order', 'round', 'mail_link', 'import', 'registration', 'desk'));
