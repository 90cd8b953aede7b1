"""Routes to polarity: which hang together, where left meets right, what feeds each frog."""
