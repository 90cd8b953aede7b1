"""Gaps that must be guided to wings and guards with room for them."""
