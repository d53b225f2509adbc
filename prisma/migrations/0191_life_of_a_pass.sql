-- What all chunks of a pass know of the life of parts: worked out by its first chunk from every part of the organisation, read by the others.
ALTER TABLE planning_chunk ADD COLUMN life jsonb;
