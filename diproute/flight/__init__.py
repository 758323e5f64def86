"""The helicopter flown on paper: hover limit, load, route, cycle, fuel cycle."""
