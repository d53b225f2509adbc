-- Of an urgent reminder: the last day on which the care may be done before its limit; closures and peaks may leave none after it.
ALTER TABLE reminder ADD COLUMN do_by date NULL;
