"""Pictures of a session to hand on: the connector with its marks, each solenoid against its temperature."""
