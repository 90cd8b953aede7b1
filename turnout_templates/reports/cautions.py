"""Say the usual cautions of the craft."""

from __future__ import annotations

CAUTIONS = (
    "Wear eye protection whenever you cut, file, grind or solder: cut rail flies and its ends are sharp.",
    "Solder with fumes drawn away from your face. The iron burns; many solders and old rail contain lead: do not eat "
    "or drink at the bench, and wash your hands afterwards.",
    "Filing or sawing copper-clad board makes glass dust: wear a dust mask, wet the work, and wipe up; never blow.",
    "Power switch machines and track from a low-voltage supply only. Leave anything connected to the mains to a "
    "licensed electrician and to your local codes.",
    "Test with your own gauges and wheels before gluing: this paper shows where rails belong, not whether they were "
    "laid there.",
)
"""The usual cautions of the craft (common practice; local codes and licensed practice come first)."""
