"""What the report says of cutting by hand: templates, how each line is guided, the passes."""

from typing import Any

from purfle.model.cutting import HandStep
from purfle.model.templates import Guiding, Template, TemplateWish

Entry = dict[str, Any]


def wish_entry(wish: TemplateWish) -> Entry:
    """What the job asks for."""
    return {
        "recess_bush": wish.recess_bush or None,
        "insert_bush": wish.insert_bush or None,
        "thickness_mm": float(wish.thickness),
        "border_mm": float(wish.border),
        "pin_mm": float(wish.pin),
        "pin_holes": "everywhere" if wish.pins_in_show_face else "hidden",
        "seam_asked": wish.seam_asked,
    }


def template_entry(template: Template) -> Entry:
    """One template, in its own frame, whose origin is the middle of its opening."""
    left, low, right, high = template.opening.bounds
    x0, y0, x1, y1 = template.outline.bounds
    return {
        "number": template.number,
        "name": template.name,
        "file": template.file,
        "opening_mm": [float(right - left), float(high - low)],
        "wood_mm": [float(x1 - x0), float(y1 - y0), float(template.thickness)],
        "pins_mm": [[float(x), float(y)] for x, y in template.pins],
        "pin_mm": float(template.pin),
    }


def step_entry(step: HandStep) -> Entry:
    """One pass along one line."""
    return {
        "line": step.line,
        "cutter": step.cutter.number,
        "kind": step.kind,
        "depth_mm": float(step.depth),
        "off_line_mm": float(step.off_line),
        "cutting_min": float(step.minutes),
    }


def guiding_entry(one: Guiding) -> Entry:
    """How one line is guided; `place` takes the frame of the template to that of the set-up."""
    return {
        "line": one.line,
        "template": one.template,
        "bush": one.guide.bush,
        "bush_outside_mm": float(one.guide.outside),
        "cutter": one.guide.cutter.number,
        "offset_mm": float(one.guide.offset),
        "across_mm": float(one.guide.across),
        "place": {
            "turned_deg": float(one.pose.angle % 360.0),
            "x_mm": float(one.pose.x),
            "y_mm": float(one.pose.y),
            "mirrored": one.pose.mirrored,
        },
        "pinned": one.pinned,
    }
