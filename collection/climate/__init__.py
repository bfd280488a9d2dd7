"""What the air does: humidity at surfaces, faults of sensors, swings within a day, the seasonal band of a place."""
