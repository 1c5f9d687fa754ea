"""Judges the drawing of a cut with nothing of the program: ezdxf reads it, shapely measures.

    judge_cut.py LAYOUT.dxf CUT.dxf KERF TAB PIERCE

LAYOUT.dxf has the parts' own contours where they lie (CUT_OUTER, CUT_INNER), the sheet (SHEET) and its old
cut-outs (SHEET_CUTOUT); CUT.dxf has the beam's centre (BEAM_OUTER, BEAM_INNER), both in mm. Says what is
wrong, a line each, and at last how many contours, starts and tabs it has looked at.
"""

import math
import sys

import ezdxf
from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

FLAT = 0.0005
OFF = 0.003
STEP = 0.3


def read(name):
    drawing = ezdxf.readfile(name)
    audit = drawing.audit()
    assert not audit.errors and not audit.fixes, (name, audit.errors, audit.fixes)
    return list(drawing.modelspace())


def points(entity):
    """Where an entity runs, in its own direction."""
    if entity.dxftype() == "CIRCLE":
        x, y, r = entity.dxf.center.x, entity.dxf.center.y, entity.dxf.radius
        count = max(64, math.ceil(math.pi / math.acos(1.0 - FLAT / r)))
        turns = (2.0 * math.pi * n / count for n in range(count + 1))
        return [(x + r * math.cos(a), y + r * math.sin(a)) for a in turns]
    corners = [(p[0], p[1]) for p in entity.get_points("xy")]
    found = []
    for corner, piece in zip(corners, entity.virtual_entities()):
        if piece.dxftype() == "LINE":
            run = [piece.dxf.start, piece.dxf.end]
        else:
            run = list(piece.flattening(FLAT))
        run = [(p.x, p.y) for p in run]
        if math.dist(run[0], corner) > math.dist(run[-1], corner):
            run.reverse()
        found += run if not found else run[1:]
    return found


def on(entities, *layers):
    return [points(e) for e in entities if e.dxf.layer in layers]


def judge(layout, cut, kerf, tab, pierce):
    wrong = []
    half = 0.5 * kerf
    outer = [Polygon(p) for p in on(layout, "CUT_OUTER")]
    inner = [Polygon(p) for p in on(layout, "CUT_INNER")]
    sheet = unary_union([Polygon(p) for p in on(layout, "SHEET")])
    sheet = sheet.difference(unary_union([Polygon(p).buffer(0) for p in on(layout, "SHEET_CUTOUT")]))
    holes = STRtree(inner)
    parts = [o.difference(unary_union([inner[i] for i in holes.query(o) if o.contains(inner[i])])) for o in outer]
    beams = [LineString(p) for p in on(cut, "BEAM_OUTER", "BEAM_INNER")]
    tree, metal = STRtree(beams), STRtree(parts)
    kept = unary_union(parts)
    for beam in beams:
        for i in metal.query(beam.buffer(kerf)):
            if beam.distance(parts[i]) < half - OFF:
                wrong.append(f"the beam runs into metal that is kept near {beam.coords[0]}")
    tabs = 0
    for ring in [p.exterior for p in outer + inner]:
        near = unary_union([beams[i] for i in tree.query(ring.buffer(kerf))])
        count = math.ceil(ring.length / STEP)
        open_at = [n for n in range(count) if near.distance(ring.interpolate(n / count, True)) > half + OFF]
        if len(open_at) == count:
            wrong.append(f"a contour is not cut, at {ring.coords[0]}")
            continue
        # A tab is left where the beam is off for a kerf more: the slot's ends are round.
        runs = sum((n + 1) % count not in open_at for n in open_at)
        tabs += runs
        if len(open_at) * ring.length / count > runs * (tab + kerf + 2.0 * STEP):
            wrong.append(f"more than its tabs is left of a contour at {ring.coords[0]}")
    # Pieces that follow each other over a tab are a tab and a kerf apart.
    gaps = [math.dist(a.coords[-1], b.coords[0]) for a, b in zip(beams, beams[1:])]
    apart = sum(abs(gap - tab - kerf) < 0.02 * (tab + kerf) for gap in gaps)
    starts = 0
    for beam in beams:
        first = Point(beam.coords[0])
        off = kept.distance(first)
        if off < half + OFF:
            continue
        starts += 1
        if off < pierce - OFF or not sheet.contains(first):
            wrong.append(f"a start in bad metal at {beam.coords[0]}, {off:.3f} from what is kept")
        if sheet.boundary.distance(first) < pierce - OFF:
            wrong.append(f"a start too near an old edge at {beam.coords[0]}")
    if starts != len(outer) + len(inner):
        wrong.append(f"{starts} starts for {len(outer) + len(inner)} contours")
    if apart < tabs:
        wrong.append(f"{tabs} tabs are left, {apart} gaps are a tab and a kerf wide")
    return wrong, len(outer) + len(inner), starts, tabs


if __name__ == "__main__":
    found, contours, starts, tabs = judge(read(sys.argv[1]), read(sys.argv[2]), *map(float, sys.argv[3:]))
    print("\n".join(found + [f"{contours} {starts} {tabs}"]))
