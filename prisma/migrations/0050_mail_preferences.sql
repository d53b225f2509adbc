-- When and about what a person wants digests, in the hours and zone of each warehouse. Urgent mails are not asked.
ALTER TABLE person ADD COLUMN digest_weekday smallint NULL CHECK (digest_weekday BETWEEN 1 AND 7);
ALTER TABLE person ADD COLUMN digest_time time NULL;
ALTER TABLE person ADD COLUMN quiet_from time NULL;
ALTER TABLE person ADD COLUMN quiet_to time NULL;
ALTER TABLE person ADD COLUMN unwanted_kinds text[] NOT NULL DEFAULT '{}'
  CHECK (unwanted_kinds <@ ARRAY['coming_due', 'due', 'late', 'passed_on', 'month_list', 'work_orders', 'parts']);
ALTER TABLE person ADD CHECK ((quiet_from IS NULL AND quiet_to IS NULL) OR (quiet_from IS NOT NULL AND quiet_to IS NOT NULL AND quiet_from <> quiet_to));
