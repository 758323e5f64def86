"""Over the ground and through the air: airspace, floor, travel-time field, path, wire crossings, separation, profile, leg."""
