"""What the program has to say in words and figures: the measure file, and the texts of the leading pages."""
