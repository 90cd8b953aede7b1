"""Turn a drawing into numbered sheets of real paper, and say on each how they are joined."""
