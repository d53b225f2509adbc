-- Cartons at a station, rolls used and a word a month come from files as well.
ALTER TABLE import DROP CONSTRAINT import_kind_check;
ALTER TABLE import ADD CONSTRAINT import_kind_check
  CHECK (kind IN ('warehouses', 'stations', 'machines', 'components', 'evidence', 'cartons', 'rolls', 'taps', 'service_history'));
