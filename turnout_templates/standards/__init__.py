"""Turn the names of the trade (a scale, a gauge, a rail, a published track standard) into figures with their source.

The figures lie in `data/*.yaml`, one file a document, each row with how it is known: read in the document, from
memory, derived, or second-hand. `scales` looks up scales and gauges, `track` the clearances of wheel and flange,
`rail` the sections, `practice` what is done where no document says.
"""
