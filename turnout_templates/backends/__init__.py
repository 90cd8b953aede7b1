"""Turn laid-out pages or a drawing into files: one module for each kind of file."""
