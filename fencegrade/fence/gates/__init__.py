"""Gates: leaves that clear the ground as they swing."""
