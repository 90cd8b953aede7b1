"""Parts to the order they are laid in and what is to be measured of them."""
