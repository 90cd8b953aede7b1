"""Parts to bases that give way to each other, and what guides are made of."""
