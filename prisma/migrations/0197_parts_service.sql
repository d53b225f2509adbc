-- How sure a warehouse wants to be that a part is there when it is needed, and by how much a delivery may come earlier or later than stated.
ALTER TABLE warehouse ADD COLUMN parts_service_percent smallint NOT NULL DEFAULT 95 CHECK (parts_service_percent BETWEEN 50 AND 99);
ALTER TABLE part_stock ADD COLUMN lead_time_spread_days smallint NOT NULL DEFAULT 0 CHECK (lead_time_spread_days BETWEEN 0 AND 400);
