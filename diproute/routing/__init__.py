"""Over the ground and through the air: airspace, floor, travel time, path, wire crossings, separation, profile, leg."""
