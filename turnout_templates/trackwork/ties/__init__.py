"""Routes to ties: where each lies, how it is turned, what it holds and is made of."""
