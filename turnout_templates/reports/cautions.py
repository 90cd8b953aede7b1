"""Say the usual cautions of the craft."""

from __future__ import annotations

CUTTING = "Wear eye protection whenever you cut, file, grind or solder: cut rail flies and its ends are sharp."
SOLDERING = (
    "Solder with fumes drawn away from your face. The iron burns; many solders and old rail contain lead: do not eat "
    "or drink at the bench, and wash your hands afterwards."
)
GLASS_DUST = (
    "Filing or sawing copper-clad board makes glass dust: wear a dust mask, wet the work, and wipe up; never blow."
)
POWER = (
    "Power switch machines and track from a low-voltage supply only. Leave anything connected to the mains to a "
    "licensed electrician and to your local codes."
)
PROVING = (
    "Test with your own gauges and wheels as you build: this paper shows where rails belong, not whether they were "
    "laid there."
)
CAUTIONS = (CUTTING, SOLDERING, GLASS_DUST, POWER, PROVING)
"""The usual cautions of the craft (common practice; local codes and licensed practice come first)."""
