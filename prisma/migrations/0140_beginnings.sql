-- Facts of a machine type that nobody knows yet. The stricter one stands in the column itself until somebody says.
ALTER TABLE machine_type ADD COLUMN assumed text[] NOT NULL DEFAULT '{}' CHECK (assumed <@ ARRAY['supply', 'heater']);
