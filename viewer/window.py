"""A window to look round a compartment in: turn it, fill it, cut it, show and hide what is in it."""

import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pyvista as pv

from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import TapeloftError
from tapeloft.model.moments import Points
from tapeloft.model.openings import ClearOpening
from tapeloft.model.stowed import Stowed
from tapeloft.viewer.callouts import named, told
from tapeloft.viewer.captions import LETTERS, Caption, clear_of_others, stowed_marked, things_named
from tapeloft.viewer.device import NO_DISPLAY, display_here, drawing_with
from tapeloft.viewer.dimensions import figures, overall, side_lengths, sides_along
from tapeloft.viewer.edges import creases
from tapeloft.viewer.eye import Eye, eye_for
from tapeloft.viewer.labels import font_file
from tapeloft.viewer.look import KEYS, VIEW_KEYS, Look, chosen, keyed, said
from tapeloft.viewer.paint import EDGE, add_faces, add_lights, add_lines, at_surface, hold
from tapeloft.viewer.plate import INK, dashes
from tapeloft.viewer.scene import Found, Part, Scene, scene_of
from tapeloft.viewer.tones import BOX, CLEARANCE, OPENING, WATER

SIZE = (1280, 860)
MARGINS = (60.0, 80.0, 60.0, 190.0)  # px that keys and sliders take
NEAR_SIDE = 0.10  # how much of the near walls is seen, so that one sees through them
OUTLINED = 20_000  # triangles: a finer body is drawn without the outline that moves with the eye, which takes long
END_ON_EYE = 0.999  # cosine: a side that runs so nearly toward the eye bears no size
OFF = 0.05  # of the diagonal: how far a dimension line stands off
INKS = (INK, CLEARANCE, OPENING)


def open_window(
    compartment: Compartment, box: Found | Points | None = None, unit: str = "mm", stowed: Sequence[Stowed] = ()
) -> None:  # fmt: skip
    """Open a window on a compartment, with boxes and what is stowed if given, and return when it is closed.

    box, stowed: see `scene.scene_of`; unit: that lengths are written in. Raises TapeloftError, in words, where there
    is no display.
    """
    if not display_here():
        raise TapeloftError(NO_DISPLAY)
    with drawing_with("vtkXOpenGLRenderWindow" if sys.platform.startswith("linux") else ""):
        window = Window(scene_of(compartment, box, stowed=stowed), unit)
        window.plotter.show(title=", ".join(filter(None, (f"tapeloft: {compartment.name}", compartment.basis))))


class Window:
    """A plotter, the scene it shows, and what is chosen; `key`, `fill` and `cut_at` are what a person can do to it."""

    def __init__(self, scene: Scene, unit: str = "mm", *, off_screen: bool = False) -> None:
        self.scene, self.unit = scene, unit
        self.look = Look(station=float(scene.gross.bounds[:, 0].mean()))
        self.plotter: Any = pv.Plotter(off_screen=off_screen, window_size=list(SIZE), lighting="none")
        self.drawn: dict[Part, list[pv.Actor]] = {}
        self._openings: tuple[ClearOpening, ...] = ()
        self._off = OFF * float(np.linalg.norm(np.ptp(scene.gross.bounds, axis=0)))
        self._sliders: dict[str, Any] = {}
        self._dress()
        self._stand()
        self._draw()

    def key(self, key: str) -> None:
        """Do what a key asks."""
        if key == "q":
            self.plotter.iren.terminate_app()
            return
        before, self.look = self.look, keyed(self.look, key, self.scene)
        if key in VIEW_KEYS:
            self._stand()
        if before != self.look:
            self._draw()

    def fill(self, height: float) -> None:
        """Fill the compartment to a height, m, compartment axes; at its lowest point it is empty."""
        bottom = float(self.scene.net.bounds[0, 2])
        self.look = replace(self.look, level=height if height > bottom + 1e-6 else None)
        self._draw()

    def cut_at(self, station: float) -> None:
        """Move the cut to a station, m along x."""
        self.look = replace(self.look, station=station)
        self._draw()

    # setting up
    def _dress(self) -> None:
        """Set up what stays: ground, lights, words, sliders and keys."""
        plotter, (low, high) = self.plotter, self.scene.net.bounds
        plotter.background_color = pv.Color("white")
        add_lights(plotter)
        self._words("\n".join(f"{key}   {does}" for key, does in KEYS.items()), (0.012, 0.015), 8, "keys")
        plotter.add_axes(xlabel="fwd", ylabel="port", zlabel="up", color=INK, viewport=(0.87, 0.80, 1.0, 1.0))
        self._slider("fill", self.fill, float(low[2]), (float(low[2]), float(high[2])), 0.17, WATER)
        self._slider("cut", self.cut_at, self.look.station, (float(low[0]), float(high[0])), 0.07, EDGE)
        plotter.iren.clear_key_event_callbacks()
        for key in KEYS:
            plotter.iren.add_key_event(key, partial(self.key, key))
        # The library's own keys (3 stereo, e quit …) come as characters: an observer of those takes their place.
        plotter.iren.interactor.GetInteractorStyle().AddObserver("CharEvent", lambda *_: None)
        plotter.iren.add_observer("EndInteractionEvent", lambda *_: self._write())

    def _slider(
        self, title: str, does: Callable[[float], None], value: float, span: tuple[float, float], y: float, tone: str
    ) -> None:
        self._sliders[title] = slider = self.plotter.add_slider_widget(
            callback=does, rng=span, value=value, title=title, pointa=(0.62, y), pointb=(0.96, y), color=tone,
            title_color=INK, interaction_event="always", style="modern", title_height=0.022, slider_width=0.02,
            tube_width=0.004,
        )  # fmt: skip
        slider.KeyPressActivationOff()
        shape = slider.GetRepresentation()
        shape.ShowSliderLabelOff()  # the words at the top say it, in the unit asked for
        shape.GetTitleProperty().SetFontFamily(4)
        shape.GetTitleProperty().SetFontFile(str(font_file("italic")))

    def _words(self, text: str, at: tuple[float, float], size: int, name: str) -> None:
        words = self.plotter.add_text(
            text,
            position=at,
            font_size=size,
            color=INK,
            font_file=str(font_file("roman")),
            viewport=True,
            name=name,
            render=False,
        )
        if at[1] > 0.5:
            words.prop.justification_vertical = "top"

    def _stand(self) -> None:
        """Take the view that was chosen; a three-quarter one in perspective, the others to scale."""
        points, to_scale = self.scene.gross.vertices, self.look.view != "three-quarter"
        eye = eye_for(points, self.look.view, SIZE, margins=MARGINS, orthographic=to_scale)
        ends = [
            end + line.away * self._off * 1.6
            for line in overall(self.scene.gross.bounds, eye, self.unit)
            for end in (line.start, line.end)
        ]
        eye = eye_for(np.vstack([points, *ends]), self.look.view, SIZE, margins=MARGINS, orthographic=to_scale)
        hold(self.plotter, eye)

    # drawing
    def _draw(self) -> None:
        """Draw what is chosen; what has not changed is left as it stands."""
        shown = chosen(self.scene, self.look)
        wanted, self._openings = shown.parts, shown.openings
        for part in [part for part in self.drawn if part not in wanted]:
            for actor in self.drawn.pop(part):
                self.plotter.remove_actor(actor, render=False)
        for part in wanted:
            if part not in self.drawn:
                self.drawn[part] = self._added(part)
        if "cut" in self._sliders:  # the first slider draws before the second is there
            self._sliders["cut"].SetEnabled(self.look.cutting)
        self._words(said(self.scene, self.look, self.unit), (0.012, 0.985), 11, "said")
        self._write()
        self.plotter.render()

    def _added(self, part: Part) -> list[pv.Actor]:
        solid = part.solid
        actors = [add_faces(self.plotter, part, self.scene)]
        if part.kind == "bay":
            near = add_faces(self.plotter, part, self.scene)
            near.prop.culling, near.prop.opacity = "back", NEAR_SIDE
            actors.append(near)
        pairs = creases(solid.vertices, solid.triangles, self.scene.skin_of(part))
        pairs = at_surface(solid, pairs) if part.kind == "water" else pairs
        ink, width = {"box": (BOX, 3.0), "water": (WATER, 1.5), "stowed": (INK, 1.6)}.get(part.kind, (EDGE, 1.2))
        actors.append(add_lines(self.plotter, solid.vertices[pairs], ink, width))
        if part.leader is not None:
            actors.append(add_lines(self.plotter, np.array([part.leader]), INK, 1.5))
        if part.kind in ("obstruction", "part", "stowed") and len(solid.triangles) <= OUTLINED:
            # a round thing has no edge along its side, but an outline that moves with the eye
            body = pv.PolyData(solid.vertices, np.insert(solid.triangles, 0, 3, axis=1).ravel())
            actors.append(self.plotter.add_silhouette(body, color=EDGE, line_width=1.6))
        return actors

    def _write(self) -> None:
        """Write names and sizes where they stand clear for the eye as it is now; of two that would overlap, one."""
        for name in ("lines", "clearances", "openings", *INKS):
            self.plotter.remove_actor(name, render=False)
        parts, eye = list(self.drawn), self._eye()
        captions = stowed_marked(parts, eye)
        if self.look.dimensions and not self.look.cutting:  # what is cut is not what was measured
            captions += self._clearances() + self._sizes()
        captions = clear_of_others([*captions, *self._outlines(), *things_named(parts)], eye)
        for ink in INKS:
            self._caption([caption for caption in captions if caption.ink == ink], ink)

    def _clearances(self) -> list[Caption]:
        """Draw the clearances; return their figures, the smallest first."""
        spans = sorted((span for part in self.drawn for span in part.spans), key=lambda span: span.length_m)
        lines = np.array([[span.start, span.end] for span in spans]).reshape(-1, 2, 3)
        if spans:
            add_lines(self.plotter, lines, CLEARANCE, 2.5, "clearances")
        return [
            Caption(told(span, self.unit), line.mean(axis=0), CLEARANCE)
            for span, line in zip(spans, lines, strict=True)
        ]

    def _outlines(self) -> list[Caption]:
        """Draw the openings' outlines; return their names and sizes."""
        outlines = [np.vstack([one.outline, one.outline[:1]]) for one in self._openings]
        pieces = [piece for outline in outlines for piece in dashes(outline, self._off / 4)]
        if pieces:
            lines = np.concatenate([np.stack([piece[:-1], piece[1:]], axis=1) for piece in pieces])
            add_lines(self.plotter, lines, OPENING, 2.0, "openings")
        return [Caption(named(one, self.unit), one.outline.mean(axis=0), OPENING) for one in self._openings]

    def _caption(self, captions: Sequence[Caption], ink: str) -> None:
        if captions:
            self.plotter.add_point_labels(
                np.array([one.place for one in captions]), [one.words for one in captions], name=ink, text_color=ink,
                font_file=str(font_file("roman")), font_size=LETTERS, bold=False, show_points=False, shape=None,
                background_color="white", background_opacity=0.75, justification_horizontal="center",
                justification_vertical="center", always_visible=True, reset_camera=False, render=False,
            )  # fmt: skip

    def _sizes(self) -> list[Caption]:
        """Draw the dimension lines; return every size and where it is written."""
        eye, bounds, lines, captions = self._eye(), self.scene.gross.bounds, [], []
        for size in overall(bounds, eye, self.unit):
            ends = np.array([size.start, size.end])
            off = size.away * self._off
            lines += [ends + off, *np.stack([ends, ends + off * 1.2], axis=1)]
            captions.append(Caption(size.figures, ends.mean(axis=0) + off * 1.6))
        if lines:
            add_lines(self.plotter, np.array(lines), INK, 1.0, "lines")
        boxes = [part.corners for part in self.drawn if part.corners is not None]
        return captions + [size for box in boxes for size in _box_sizes(box, eye, self.unit)]

    def _eye(self) -> Eye:
        """Return the eye where the camera is now."""
        camera = self.plotter.camera
        toward = -np.array(camera.direction)
        right = np.cross(np.array(camera.up), toward)
        right /= np.linalg.norm(right)
        width, height = self.plotter.window_size
        half = camera.distance * math.tan(math.radians(camera.view_angle / 2))
        return Eye(
            right, np.cross(toward, right), toward, np.array(camera.focal_point),
            height / (2 * (camera.parallel_scale if camera.parallel_projection else half)),
            math.inf if camera.parallel_projection else camera.distance, (width, height),
        )  # fmt: skip


def _box_sizes(corners: Points, eye: Eye, unit: str) -> list[Caption]:
    """Return the sizes of a box, each at the middle of its edge nearest to the eye, but for one end on."""
    captions = []
    for axis, length in enumerate(side_lengths(corners)):
        sides = np.array(sides_along(corners, axis))
        if abs((sides[0, 1] - sides[0, 0]) @ eye.toward) < END_ON_EYE * length:
            nearest = max(sides.mean(axis=1), key=lambda middle: float(middle @ eye.toward))
            captions.append(Caption(figures(float(length), unit, down=True), nearest))
    return captions
