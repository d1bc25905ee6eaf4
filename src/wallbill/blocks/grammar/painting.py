"""The shapes of a laid-out chart on whole pixels, in few inks."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, MUTED, NOTHING, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Point, Size
from wallbill.blocks.grammar.canvas import Canvas, Window, edge, pixel
from wallbill.blocks.grammar.inking import LineLook, Paint, category, fill_paint, line_look
from wallbill.blocks.grammar.outline import Stretch
from wallbill.blocks.grammar.scene import REFERENCE, Blend, Scene, Shape
from wallbill.inks.impression import Mask

_LEVEL = 0.01
_LEAST_MARK_PX = 5


def paint_shapes(scene: Scene, palette: Palette) -> Canvas:
    """Every shape of the scene, from the ground up."""
    canvas = Canvas((scene.width_px, scene.height_px))
    for shape in scene.shapes:
        _paint(canvas, shape, scene=scene, palette=palette)
    return canvas


def _paint(canvas: Canvas, shape: Shape, *, scene: Scene, palette: Palette) -> None:
    if not shape.style.fill and not shape.style.stroke:
        return
    if shape.mark == "symbol" and _is_round(shape):
        if (
            shape.role == "legend-symbol"
            and shape.style.fill
            and any(one.mark == "arc" for one in scene.shapes)
        ):
            shape = replace(shape, stretches=(_square(shape),))  # the key of slices shows their hatch
            _fill(canvas, shape, shape.stretches, scene=scene, palette=palette)
            return
        _mark(canvas, shape, palette=palette)
        return
    closed = tuple(part for part in shape.stretches if len(part.points) > 2)
    if shape.style.fill and closed:
        _fill(canvas, shape, closed, scene=scene, palette=palette)
    if shape.style.stroke:
        look = line_look(shape.style.stroke, shape.style.stroke_alpha, palette)
        for part in shape.stretches:
            _stroke(canvas, part, shape, look)


def _fill(canvas: Canvas, shape: Shape, parts: Sequence[Stretch], *, scene: Scene, palette: Palette) -> None:
    window = canvas.window([p for part in parts for p in part.points], clip=shape.clip)
    if window is None:
        return
    mask = _inside(window, parts)
    named = REFERENCE.match(shape.style.fill)
    if named:
        blend = scene.blends.get(named[1])
        if blend is not None:
            _shade(canvas, window, mask, blend=blend, palette=palette)
        return
    paint = fill_paint(shape.style.fill, shape.style.fill_alpha, palette)
    canvas.lay(window, mask, paint)
    if paint.hatch is not Hatch.SOLID and category(shape.style.fill) is not None and not shape.style.stroke:
        canvas.lay(window, mask & ~shapes.shrunk(mask, 1), Paint(INK))


def _inside(window: Window, parts: Sequence[Stretch]) -> Mask:
    """The pixels inside of closed stretches; a box has its edges on whole pixels and is never thinner than one."""
    if len(parts) == 1 and (box := _as_box(parts[0])):
        left, top, right, bottom = (edge(at) for at in box)
        right, bottom = max(right, left + (box[2] > box[0])), max(bottom, top + (box[3] > box[1]))
        return shapes.rectangle(
            window.size, (left - window.box[0], top - window.box[1], right - left, bottom - top)
        )
    return shapes.polygon(window.size, *(window.moved(part.points) for part in parts))


def _as_box(part: Stretch) -> tuple[float, float, float, float] | None:
    """Left, top, right, bottom of a stretch that is an upright box; None for any other."""
    points = part.points[:-1] if len(part.points) == 5 and part.points[0] == part.points[-1] else part.points
    if len(points) != 4 or part.curved:
        return None
    xs, ys = {round(x, 6) for x, _ in points}, {round(y, 6) for _, y in points}
    if len(xs) > 2 or len(ys) > 2:
        return None
    return min(xs), min(ys), max(xs), max(ys)


def _shade(canvas: Canvas, window: Window, mask: Mask, *, blend: Blend, palette: Palette) -> None:
    """A gradient as a row of hatches, each over the stretch of its tone."""
    filled = np.nonzero(mask.any(axis=1 if blend.upright else 0))[0]
    if not filled.size or not blend.stops:
        return
    first, count = int(filled[0]), int(filled[-1] - filled[0]) + 1
    for step in range(count):
        share = (step + 0.5) / count
        colour = min(blend.stops, key=lambda stop: abs(stop[0] - share))[1]
        row = shapes.nothing(window.size)
        at = slice(first + step, first + step + 1)
        row[at if blend.upright else slice(None), slice(None) if blend.upright else at] = True
        canvas.lay(window, mask & row, fill_paint(colour, 1.0, palette))


def _stroke(canvas: Canvas, part: Stretch, shape: Shape, look: LineLook) -> None:
    """A line along a stretch: level and upright ones exactly, all others through the pixels of their points."""
    if look.code == NOTHING or shape.style.stroke_px <= 0 or not part.points:
        return
    line_px = max(1, edge(shape.style.stroke_px) + look.more_px)
    dash = tuple(max(1, edge(step)) for step in shape.style.dash_px) or look.dash
    if len(dash) % 2:
        dash *= 2
    if look.code == MUTED and not dash:
        dash = (1, 2)
    window = canvas.window(part.points, clip=shape.clip, margin_px=line_px)
    if window is None:
        return
    if (
        len(part.points) == 2
        and (mask := _straight(window, part.points, line_px=line_px, dash=dash)) is not None
    ):
        canvas.lay(window, mask, Paint(look.code))
        return
    points = [*part.points, part.points[0]] if part.closed else list(part.points)
    box = _as_box(part) if part.closed else None
    mask = (
        _rim(window, box, line_px=line_px)
        if box and not dash
        else shapes.line(window.size, _tidy(window.pixels(points)), line_px=line_px, dash_px=dash)
    )
    canvas.lay(window, mask, Paint(look.code))


def _tidy(pixels: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The pixels without those that come twice in a row."""
    return [at for i, at in enumerate(pixels) if i == 0 or at != pixels[i - 1]]


def _rim(window: Window, box: tuple[float, float, float, float], *, line_px: int) -> Mask:
    """The outline of a box, its line about the box's edges as far as whole pixels go."""
    left, top, right, bottom = (edge(at - line_px / 2) for at in box)
    outer = (left - window.box[0], top - window.box[1], right - left + line_px, bottom - top + line_px)
    return shapes.frame(window.size, outer, line_px=line_px)


def _straight(window: Window, points: Sequence[Point], *, line_px: int, dash: tuple[int, ...]) -> Mask | None:
    """A level or upright line with square ends, its dashes counted from the drawing's corner; None for any other."""
    (x0, y0), (x1, y1) = points
    level, upright = abs(y1 - y0) < _LEVEL, abs(x1 - x0) < _LEVEL
    if not (level or upright):
        return None
    left, top = window.box[:2]
    if level:
        start, end = edge(min(x0, x1)), max(edge(max(x0, x1)), edge(min(x0, x1)) + 1)
        box = (start - left, edge(y0 - line_px / 2) - top, end - start, line_px)
    else:
        start, end = edge(min(y0, y1)), max(edge(max(y0, y1)), edge(min(y0, y1)) + 1)
        box = (edge(x0 - line_px / 2) - left, start - top, line_px, end - start)
    mask = shapes.rectangle(window.size, box)
    if dash:
        on = np.concatenate([np.full(step, i % 2 == 0) for i, step in enumerate(dash)])
        count = window.size[0] if level else window.size[1]
        run = on[(np.arange(count) + (left if level else top)) % on.size]
        mask &= run[np.newaxis, :] if level else run[:, np.newaxis]
    return mask


def _square(shape: Shape) -> Stretch:
    """The box about a shape."""
    xs = [x for x, _ in shape.stretches[0].points]
    ys = [y for _, y in shape.stretches[0].points]
    left, top, right, bottom = min(xs), min(ys), max(xs), max(ys)
    return Stretch(((left, top), (right, top), (right, bottom), (left, bottom)), closed=True)


def _is_round(shape: Shape) -> bool:
    if len(shape.stretches) != 1 or not shape.stretches[0].curved:
        return False
    points = shape.stretches[0].points
    return math.dist(points[0], points[-1]) < 1


def _mark(canvas: Canvas, shape: Shape, *, palette: Palette) -> None:
    """A round symbol as a mark about one pixel; a category has a mark of its own form."""
    points = shape.stretches[0].points
    xs, ys = [x for x, _ in points], [y for _, y in points]
    middle = pixel(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
    across = max(_LEAST_MARK_PX if shape.style.stroke else 1, edge(max(xs) - min(xs))) | 1
    half = across // 2
    box_points = [(middle[0] - half, middle[1] - half), (middle[0] + half, middle[1] + half)]
    window = canvas.window(box_points, clip=shape.clip, margin_px=2)
    if window is None:
        return
    colour = shape.style.fill or shape.style.stroke
    number = category(colour)
    at = (middle[0] - window.box[0], middle[1] - window.box[1])
    whole = _form(0 if number is None else number, window.size, at=at, half_px=half)
    paint = fill_paint(shape.style.fill, shape.style.fill_alpha, palette)
    if number is not None and shape.style.fill:
        paint = Paint(line_look(colour, shape.style.fill_alpha, palette).code)
        canvas.lay(window, shapes.grown(whole, 1) & ~whole, Paint(PAPER))
    canvas.lay(window, whole, paint)
    if shape.style.stroke:
        line_px = max(1, edge(shape.style.stroke_px)) if across > _LEAST_MARK_PX else 1
        rim = whole & ~shapes.shrunk(whole, line_px)
        if not shape.style.fill:
            canvas.lay(window, whole, Paint(PAPER))
        look = line_look(shape.style.stroke, shape.style.stroke_alpha, palette)
        canvas.lay(window, rim, Paint(look.code))


def _form(number: int, size: Size, *, at: tuple[int, int], half_px: int) -> Mask:
    """The mark of a category: disc, square, triangle, diamond, cross, triangle on its tip; then from the first again."""
    x, y = at
    middle = (x + 0.5, y + 0.5)
    reach = half_px + 0.5
    match number % 6:
        case 1:
            inner = max(1, half_px - 1)
            return shapes.rectangle(size, (x - inner, y - inner, 2 * inner + 1, 2 * inner + 1))
        case 2 | 5 as one:
            up = 1 if one == 2 else -1
            base, tip = middle[1] + up * reach, middle[1] - up * reach
            return shapes.polygon(
                size, [(middle[0] - reach - 0.5, base), (middle[0], tip), (middle[0] + reach + 0.5, base)]
            )
        case 3:
            far = reach + 0.6
            return shapes.polygon(
                size,
                [
                    (middle[0] - far, middle[1]),
                    (middle[0], middle[1] - far),
                    (middle[0] + far, middle[1]),
                    (middle[0], middle[1] + far),
                ],
            )
        case 4:
            arm = max(1, half_px // 2) | 1
            level = shapes.rectangle(size, (x - half_px, y - arm // 2, 2 * half_px + 1, arm))
            return level | shapes.rectangle(size, (x - arm // 2, y - half_px, arm, 2 * half_px + 1))
    return shapes.disc(size, middle, radius_px=reach)
