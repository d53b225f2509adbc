-- An api says of itself only what its clock does; it neither asks the queue nor counts what waits.
ALTER TABLE heartbeat ALTER COLUMN queue_answers DROP NOT NULL;
ALTER TABLE heartbeat ALTER COLUMN unsaid_reminders DROP NOT NULL;
ALTER TABLE heartbeat ALTER COLUMN oldest_unsaid_seconds DROP NOT NULL;
