"""A window to look round a compartment in: turn it, fill it, cut it, show and hide what is in it."""

import math
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pyvista as pv

from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import TapeloftError
from tapeloft.model.moments import Points
from tapeloft.viewer.device import display_here, drawing_with
from tapeloft.viewer.dimensions import edges_along, figures, overall
from tapeloft.viewer.edges import creases
from tapeloft.viewer.eye import Eye, eye_for
from tapeloft.viewer.labels import font_file
from tapeloft.viewer.look import KEYS, VIEW_KEYS, Look, chosen, keyed, said
from tapeloft.viewer.paint import EDGE, add_faces, add_lights, add_lines, at_surface, hold
from tapeloft.viewer.plate import INK
from tapeloft.viewer.scene import Found, Part, Scene, scene_of
from tapeloft.viewer.tones import BOX, WATER

SIZE = (1280, 860)
MARGINS = (60.0, 80.0, 60.0, 190.0)  # px that keys and sliders take
NEAR_SIDE = 0.10  # how much of the near walls is seen, so that one sees through them
NAMED = 12  # things called by name in the picture, the largest: more would hide what they name
OFF = 0.05  # of the diagonal: how far a dimension line stands off
NO_DISPLAY = "there is no display here to open a window on\n    mend: use --still FILE.png for a picture"


def open_window(compartment: Compartment, box: Found | None = None, unit: str = "mm") -> None:
    """Open a window on a compartment, with the largest box if it is given, and return when it is closed.

    unit: that lengths are written in. Raises TapeloftError, in words, where there is no display.
    """
    if not display_here():
        raise TapeloftError(NO_DISPLAY)
    with drawing_with("vtkXOpenGLRenderWindow" if sys.platform.startswith("linux") else ""):
        window = Window(scene_of(compartment, box), unit)
        window.plotter.show(title=f"tapeloft: {compartment.name}")


class Window:
    """A plotter, the scene it shows, and what is chosen; `key`, `fill` and `cut_at` are what a person can do to it."""

    def __init__(self, scene: Scene, unit: str = "mm", *, off_screen: bool = False) -> None:
        self.scene, self.unit = scene, unit
        self.look = Look(station=float(scene.gross.bounds[:, 0].mean()))
        self.plotter: Any = pv.Plotter(off_screen=off_screen, window_size=list(SIZE), lighting="none")
        self.drawn: dict[Part, list[pv.Actor]] = {}
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
        wanted = chosen(self.scene, self.look).parts
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
        pairs = creases(solid.vertices, solid.triangles, self.scene.surface_of(solid))
        pairs = at_surface(solid, pairs) if part.kind == "water" else pairs
        ink, width = {"box": (BOX, 3.0), "water": (WATER, 1.5)}.get(part.kind, (EDGE, 1.2))
        actors.append(add_lines(self.plotter, solid.vertices[pairs], ink, width))
        if (
            part.kind == "obstruction"
        ):  # a round thing has no edge along its side, but an outline that moves with the eye
            body = pv.PolyData(solid.vertices, np.insert(solid.triangles, 0, 3, axis=1).ravel())
            actors.append(self.plotter.add_silhouette(body, color=EDGE, line_width=1.6))
        return actors

    def _write(self) -> None:
        """Write names and sizes where they stand clear for the eye as it is now; of two that would overlap, one."""
        for name in ("lines", "marks"):
            self.plotter.remove_actor(name, render=False)
        things = [part for part in self.drawn if part.kind in ("obstruction", "divider")]
        largest = sorted(things, key=lambda part: -part.solid.volume)[:NAMED]
        marks = [(part.name, part.solid.centroid) for part in largest]
        if self.look.dimensions and not self.look.cutting:  # what is cut is not what was measured
            marks += self._sizes()
        if marks:
            self.plotter.add_point_labels(
                np.array([place for _, place in marks]), [words for words, _ in marks], name="marks", text_color=INK,
                font_file=str(font_file("roman")), font_size=17, bold=False, show_points=False, shape=None,
                background_color="white", background_opacity=0.75, justification_horizontal="center",
                justification_vertical="center", always_visible=True, reset_camera=False, render=False,
            )  # fmt: skip

    def _sizes(self) -> list[tuple[str, Points]]:
        """Draw the dimension lines; return every size and where it is written."""
        eye, bounds, lines, marks = self._eye(), self.scene.gross.bounds, [], []
        for size in overall(bounds, eye, self.unit):
            ends = np.array([size.start, size.end])
            off = size.away * self._off
            lines += [ends + off, *np.stack([ends, ends + off * 1.2], axis=1)]
            marks.append((size.figures, ends.mean(axis=0) + off * 1.6))
        if lines:
            add_lines(self.plotter, np.array(lines), INK, 1.0, "lines")
        boxes = [part.solid.bounds for part in self.drawn if part.kind == "box"]
        return marks + [mark for box in boxes for mark in _box_sizes(box, eye, self.unit)]

    def _eye(self) -> Eye:
        """Return the eye where the camera is now, as if it saw without perspective."""
        camera = self.plotter.camera
        toward = -np.array(camera.direction)
        right = np.cross(np.array(camera.up), toward)
        right /= np.linalg.norm(right)
        width, height = self.plotter.window_size
        scale = height / (2 * camera.parallel_scale)
        return Eye(
            right, np.cross(toward, right), toward, np.array(camera.focal_point), scale, math.inf, (width, height)
        )


def _box_sizes(box: Points, eye: Eye, unit: str) -> list[tuple[str, Points]]:
    """Return the sizes of the largest box, each at the middle of its edge nearest to the eye, but for one end on."""
    marks = []
    for axis in np.flatnonzero(np.abs(eye.toward) < 0.999):
        middles = [(start + end) / 2 for start, end, *_ in edges_along(box, int(axis))]
        nearest = max(middles, key=lambda middle: float(middle @ eye.toward))
        marks.append((figures(float(np.ptp(box[:, axis])), unit, down=True), nearest))
    return marks
