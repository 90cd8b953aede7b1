"""Routes to trackwork: rails, switches, frogs, guards and ties, all from which route carries which rails."""
