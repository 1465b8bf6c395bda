"""What a person does: open a job, take a reading, correct it, close it.  No window, no file format."""
