"""The framing drawn to scale in section and in plan, as SVG that a strict policy lets stand.

How to use it: take ``framing = lcc.quantities.survey(retrofit)`` (the retrofit's survey with the
insulation of its layers); then ``section(framing, units)`` and ``plan(framing, units)`` each
return one complete ``<svg>`` text, to be put into a page or a proposal as it is
(``{{ drawing | safe }}``: every text in it is escaped here). Nothing needs a script or a style
sheet; the element has the class ``framing-drawing`` for a page to set its width, and parts have
classes of their own (``panel``, ``post``, ``purlin``, ``brace``, ``old-roof``, ``insulation``,
``ventilator``, ``eave``, ``ridge``, ``dimension``). Give each drawing of one page its own
`prefix`: it begins the ids by which the drawing's title and description are found.
"""

from web.drawings.framing_plan import plan
from web.drawings.framing_section import cut_parts, section

__all__ = ["cut_parts", "plan", "section"]
