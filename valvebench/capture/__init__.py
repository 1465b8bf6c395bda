"""What comes in from instruments: files of loggers, read whole or refused with every reason."""
