"""The engraver: a Score becomes systems of notation and tab, drawn as SVG.

``engrave.engrave(score, options) -> tuple[System, ...]`` and ``legend.legend_of(score, options) ->
tuple[LegendEntry, ...]`` are all that a page needs; ``system.py`` tells what they return, ``options.py`` what to ask.
"""
