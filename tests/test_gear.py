"""Gear: forms held to closed forms and another library, the catalogue to standards, and what a person may type."""

import json
import math
import time
from functools import partial
from pathlib import Path

import igl
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from tapeloft.model.errors import FileError, SurveyError, TapeloftError
from tapeloft.model.facets import body
from tapeloft.model.gear.asked import gear_asked
from tapeloft.model.gear.body import MANY, Body
from tapeloft.model.gear.catalogue import catalogue, read_gear
from tapeloft.model.gear.forms import AROUND, CHORD, QUARTER, Block, Board, Capsule, Cylinder, SoftBag
from tapeloft.model.gear.gear import Firm, Gear
from tapeloft.model.gear.turn import Turn
from tapeloft.model.gear.typed import FORMS
from tapeloft.model.units import Misread, length
from tapeloft.shapes.polyhedron import Polyhedron, Round

INCH = 0.0254
SURF = Board(2.7, 0.58, 0.076, 0.12, ((0.0, 0.2), (1.3, 0.58), (2.7, 0.0)))
FIRM: list[Firm] = [
    Block(0.85, 0.65, 0.35),
    Cylinder(0.32, 0.6),
    Capsule(0.2, 0.7),
    Capsule(0.3, 0.3),
    Board(1.9, 0.5, 0.08),
    Board(1.9, 0.5, 0.08, 0.06),
    SURF,
]
firm = pytest.mark.parametrize("form", FIRM, ids=lambda form: f"{type(form).__name__} {form.sizes}")
sizes = st.floats(0.01, 3)


def meshed(polyhedron: Polyhedron) -> trimesh.Trimesh:
    """The polyhedron in another library, from our triangles, corners and faces as they stand."""
    solid = body(polyhedron)
    return trimesh.Trimesh(solid.vertices, solid.triangles, process=False)


def apart(form: Firm) -> float:
    """The volume by which a drawn form may differ from the true one, a share; from its sides, by plane geometry."""
    if isinstance(form, Cylinder):
        return 2 * (math.pi / 64) ** 2
    if isinstance(form, Capsule):
        return 3 * (math.pi / AROUND) ** 2 + 3 * (math.pi / 4 / QUARTER) ** 2
    return 2 * CHORD / form.thickness if isinstance(form, Board) else 1e-12


# forms


@firm
@pytest.mark.parametrize("how", Round)
def test_drawn_closes_in_the_middle_of_its_upright_box(form: Firm, how: Round) -> None:
    drawn = meshed(form.drawn(how))
    assert drawn.is_watertight
    assert drawn.volume > 0
    assert drawn.bounds.mean(axis=0) == pytest.approx([0, 0, 0], abs=CHORD)
    assert np.ptp(drawn.bounds, axis=0).ravel() == pytest.approx(form.sizes, abs=0.01 * max(form.sizes))


@firm
def test_inside_below_the_true_volume_below_outside(form: Firm) -> None:
    inside, equal, outside = (meshed(form.drawn(how)).volume for how in (Round.INSIDE, Round.EQUAL_AREA, Round.OUTSIDE))
    assert inside <= form.volume * (1 + 1e-9)
    assert outside >= form.volume * (1 - 1e-9)
    assert equal == pytest.approx(form.volume, rel=1e-9)
    assert outside - inside <= form.volume * apart(form)


@given(sizes, sizes)
def test_volumes_of_round_forms(diameter: float, more: float) -> None:
    """Closed forms: πd²L/4; a ball πd³/6, and a cylinder between its halves."""
    assert Cylinder(diameter, more).volume == pytest.approx(math.pi * diameter**2 * more / 4)
    whole = math.pi * diameter**3 / 6 + math.pi * diameter**2 * more / 4
    assert Capsule(diameter, diameter + more).volume == pytest.approx(whole)


def test_volume_of_a_bent_board_is_thickness_times_plan() -> None:
    """Each upright line through a board is as long as it is thick; plan by trapezia."""
    assert SURF.volume == pytest.approx(0.076 * (1.3 * (0.2 + 0.58) / 2 + 1.4 * 0.58 / 2))


def to_capsule(points: np.ndarray, form: Capsule) -> np.ndarray:
    """Signed distance from the surface of the true capsule, less than nothing within."""
    middle = (form.length - form.diameter) / 2
    along = points[:, 2] - points[:, 2].clip(-middle, middle)
    return np.sqrt(points[:, 0] ** 2 + points[:, 1] ** 2 + along**2) - form.diameter / 2


@given(sizes, st.floats(0, 3))
def test_a_capsule_lies_between_its_two_drawings(diameter: float, more: float) -> None:
    form = Capsule(diameter, diameter + more)
    assert to_capsule(form.drawn(Round.INSIDE).vertices, form).max() <= 1e-12 * form.length
    around = ConvexHull(form.drawn(Round.OUTSIDE).vertices).equations
    ends = np.array([[0, 0, more / 2], [0, 0, -more / 2]])
    assert (around[:, :3] @ ends.T + around[:, 3:]).max() <= -diameter / 2 + 1e-9 * form.length


@given(sizes, sizes)
def test_a_cylinder_lies_between_its_two_drawings(diameter: float, length: float) -> None:
    form = Cylinder(diameter, length)
    inside, outside = form.drawn(Round.INSIDE).vertices, form.drawn(Round.OUTSIDE).vertices
    assert np.hypot(*inside.T[:2]).max() <= diameter / 2 * (1 + 1e-12)
    sides = ConvexHull(outside[:, :2]).equations
    assert sides[:, 2].max() <= -diameter / 2 * (1 - 1e-9)
    for drawn in (inside, outside):
        assert [drawn[:, 2].min(), drawn[:, 2].max()] == pytest.approx([-length / 2, length / 2])


@given(st.floats(0, 0.3), st.floats(0.005, 0.2), st.integers(0, 2**31))
def test_a_bent_board_lies_between_its_two_drawings(rocker: float, thickness: float, seed: int) -> None:
    """Points of the true board, between two parabolas, by the winding number of libigl; and points just out of it."""
    form = Board(2.0, 0.6, thickness, rocker, ((0.0, 0.3), (0.7, 0.6), (2.0, 0.1)))
    random = np.random.default_rng(seed)
    x = random.uniform(-0.999, 0.999, 300)
    half = np.interp(x + 1, [0, 0.7, 2.0], [0.15, 0.3, 0.05])
    y = random.uniform(-0.999, 0.999, 300) * half
    low = rocker * x**2 - form.sizes[2] / 2

    def within(how: Round, z: np.ndarray) -> np.ndarray:
        drawn = body(form.drawn(how))
        return igl.winding_number(drawn.vertices.copy(), drawn.triangles.copy(), np.column_stack([x, y, z])) > 0.5

    assert within(Round.OUTSIDE, low + 1e-6).all()
    assert within(Round.OUTSIDE, low + thickness - 1e-6).all()
    assert not within(Round.INSIDE, low - 1e-6).any()
    assert not within(Round.INSIDE, low + thickness + 1e-6).any()


HALF_TURNS = {"round": [[1, -1, -1]], "box": [[1, -1, -1], [-1, 1, -1], [-1, -1, 1]]}


@pytest.mark.parametrize("form", [form for form in FIRM if form.symmetry in HALF_TURNS])
def test_half_turns_lay_a_drawing_on_itself(form: Firm) -> None:
    corners = form.drawn(Round.OUTSIDE).vertices
    for turn in HALF_TURNS[form.symmetry]:
        apart = np.linalg.norm((corners * turn)[:, None] - corners[None], axis=2)
        assert apart.min(axis=1).max() < 1e-9


def test_what_is_bent_or_pointed_has_no_symmetry() -> None:
    assert [form.symmetry for form in FIRM] == ["box", "round", "round", "round", "box", "none", "none"]
    assert Board(2.0, 0.5, 0.1, outline=((0, 0.2), (1.0, 0.5), (2.0, 0.2))).symmetry == "box"


BAD_FORMS = [
    (lambda: Block(0, 1, 1), "its length must be from 0.1 mm to 1000 m"),
    (lambda: Block(1, math.nan, 1), "its breadth"),
    (lambda: Cylinder(math.inf, 1), "its diameter"),
    (lambda: Cylinder(1, -1), "its length"),
    (lambda: Capsule(0.7, 0.2), "less than its diameter"),
    (lambda: Board(1.9, 0.5, 0.08, -0.01), "its rocker"),
    (lambda: Board(1.9, 0.5, 0.08, math.nan), "its rocker"),
    (lambda: Board(1.9, 0.5, 0.08, 0, ((0, 0.5),)), "its outline must go from the tail"),
    (lambda: Board(1.9, 0.5, 0.08, 0, ((0, 0.5), (1, 0.5))), "to its whole length"),
    (lambda: Board(1.9, 0.5, 0.08, 0, ((0, 0.5), (1.0, 0.4), (0.9, 0.4), (1.9, 0.5))), "rising"),
    (lambda: Board(1.9, 0.5, 0.08, 0, ((0, 0.4), (1.9, 0.4))), "as broad as the board"),
    (lambda: Board(1.9, 0.5, 0.08, 0, ((0, 0.5), (1, 0), (1.9, 0.5))), "a breadth everywhere"),
    (lambda: Board(1.9, 0.5, 0.08, 0, ((0, math.nan), (1.9, 0.5))), "its outline"),
    (lambda: SoftBag(math.nan, 0.1), "its volume"),
    (lambda: SoftBag(0.06, 0.6), "113.1 litres"),  # π/6 · 0.6³
]


@pytest.mark.parametrize(("made", "said"), BAD_FORMS, ids=[said for _, said in BAD_FORMS])
def test_a_form_that_is_none_is_refused(made, said: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=said):
        made()


# meshes


def saved(mesh: trimesh.Trimesh, file: Path) -> Path:
    mesh.export(file)
    return file


def test_a_mesh_is_scaled_and_centred(tmp_path: Path) -> None:
    wedge = trimesh.creation.box((600, 400, 200)).apply_translation((5000, -300, 20))
    gear = gear_asked(f"{saved(wedge, tmp_path / 'tank top.stl')} mm")
    assert isinstance(gear.form, Body)
    assert gear.form.sizes == pytest.approx((0.6, 0.4, 0.2))
    assert gear.form.volume == pytest.approx(0.048)
    assert gear.form.polyhedron.vertices.mean(axis=0) == pytest.approx([0, 0, 0], abs=1e-9)
    assert gear_asked(f"{tmp_path / 'tank top.stl'} in").form.volume == pytest.approx(0.048 * 25.4**3)


@pytest.mark.parametrize("name", [pytest.param("ball", marks=pytest.mark.extensive), "ring"])
def test_two_hundred_thousand_triangles_are_usable_in_a_few_seconds(name: str, tmp_path: Path) -> None:
    shape = {
        "ball": trimesh.creation.uv_sphere(radius=300, count=(224, 225)),
        "ring": trimesh.creation.torus(300, 100, major_sections=500, minor_sections=200),
    }[name]
    assert len(shape.faces) > 190_000
    file = saved(shape, tmp_path / f"{name}.stl")
    start = time.process_time()
    form = gear_asked(f"{file} mm").form
    assert isinstance(form, Body)
    inside, outside = form.drawn(Round.INSIDE), form.drawn(Round.OUTSIDE)
    assert time.process_time() - start < 20  # three to six on an idle machine
    planes = ConvexHull(outside.vertices).equations
    for start_at in range(0, len(form.polyhedron.vertices), 10_000):
        part = form.polyhedron.vertices[start_at : start_at + 10_000]
        assert (part @ planes[:, :3].T + planes[:, 3]).max() <= 1e-12
    assert len(outside.vertices) < 1000
    if name == "ball":  # a ball of 300 mm, less what its facets cut off
        assert len(inside.vertices) < 1000
        assert np.linalg.norm(inside.vertices, axis=1).max() < 0.3
        assert 0.95 < meshed(inside).volume / form.volume < 1 < meshed(outside).volume / form.volume < 1.03
    else:
        assert inside == form.polyhedron  # nothing convex comes near to filling a ring


def test_a_body_within_lies_within_a_dented_one(tmp_path: Path) -> None:
    """Convex but for shallow dents: what stands for it keeps clear of every triangle."""
    ball = trimesh.creation.icosphere(5, radius=300)
    dents = 1 - 0.01 * np.random.default_rng(3).random(len(ball.vertices))
    dented = trimesh.Trimesh(ball.vertices * dents[:, None], ball.faces, process=False)
    form = gear_asked(f"{saved(dented, tmp_path / 'buoy.ply')} mm").form
    assert isinstance(form, Body)
    assert len(form.polyhedron.faces) > MANY
    inside = form.drawn(Round.INSIDE)
    assert len(inside.vertices) < 1000
    assert (body(inside) - body(form.polyhedron)).volume == pytest.approx(0, abs=1e-12)
    assert (body(form.polyhedron) - body(form.drawn(Round.OUTSIDE))).volume == pytest.approx(0, abs=1e-12)


def test_a_mesh_of_few_faces_is_itself(tmp_path: Path) -> None:
    form = gear_asked(f"{saved(trimesh.creation.annulus(100, 200, 50), tmp_path / 'ring.obj')} mm").form
    assert isinstance(form, Body)
    assert form.drawn(Round.INSIDE) == form.drawn(Round.OUTSIDE) == form.polyhedron


# the catalogue, held to what stands outside it


def of(name: str) -> Gear:
    return next(gear for gear in catalogue() if gear.name == name)


@pytest.mark.parametrize("gear", catalogue(), ids=lambda gear: gear.name)
def test_every_entry_round_trips(gear: Gear) -> None:
    assert gear_asked(gear.name) == gear
    assert gear_asked(gear.name.upper().replace(",", "")) == gear
    assert gear.source
    assert gear.name.split()[0].casefold().rstrip(",") not in FORMS  # it would be read as sizes


@pytest.mark.parametrize("gear", catalogue(), ids=lambda gear: gear.name)
def test_every_entry_makes_a_body_of_likely_mass(gear: Gear) -> None:
    if not isinstance(gear.form, SoftBag):
        inside, outside = (body(gear.form.drawn(how)).volume for how in (Round.INSIDE, Round.OUTSIDE))
        assert 0 < inside <= gear.form.volume * (1 + 1e-9) <= outside * (1 + 2e-9)
    if gear.mass_kg is not None:
        density = gear.mass_kg / gear.form.volume
        assert 5 < density < 11_340  # kg/m³: several times air, lighter than lead (from memory)


# VDA 4500, outer sizes and heights over all, as told by Wikipedia, Euro container
VDA = {(300, 200): (297, 198), (400, 300): (396, 297), (600, 400): (594, 396)}


@pytest.mark.parametrize(
    ("plan", "height"), [((300, 200), 147.5), *((plan, h) for plan in list(VDA)[1:] for h in (147.5, 280))]
)
def test_euro_containers(plan: tuple[int, int], height: float) -> None:
    form = of(f"euro container, {plan[0]} x {plan[1]} x {int(height)}").form
    assert isinstance(form, Block)
    assert form.sizes == pytest.approx([size / 1000 for size in (*VDA[plan], height)])


@pytest.mark.parametrize(("plan", "count"), [("600 x 400", 4), ("400 x 300", 8)])
def test_euro_containers_cover_a_pallet(plan: str, count: int) -> None:
    """ISO 3676: four of 600 x 400, or eight of 400 x 300, on 1200 x 800, in rows one way or the other."""
    pallet, crate = of("pallet, 1200 x 800").form, of(f"euro container, {plan} x 280").form
    assert isinstance(pallet, Block)
    assert isinstance(crate, Block)
    ways = ((crate.length, crate.breadth), (crate.breadth, crate.length))
    assert max(int(pallet.length // a) * int(pallet.breadth // b) for a, b in ways) == count


INCHES = {
    "battery, BCI group 24": (10.25, 6.8125, 8.875),  # a chart of BCI groups
    "battery, BCI group 31": (13, 6.8125, 9.4375),
    "jerrycan, 20 l, steel": (13.5, 6.5, 18.25),  # a web page; makes differ by some millimetres
}


@pytest.mark.parametrize("name", INCHES)
def test_sizes_published_in_inches(name: str) -> None:
    assert of(name).form.sizes == pytest.approx([size * INCH for size in INCHES[name]], abs=0.007)


@pytest.mark.parametrize(
    "gear", [g for g in catalogue() if g.kind == "gas cylinder" and "kg " in g.name and "," in g.name]
)
def test_gas_cylinders_can_hold_their_gas(gear: Gear) -> None:
    """Filling ratios of ADR (from memory): 0.42 kg of propane, 0.51 kg of butane for each litre within."""
    kilograms = float(gear.name.split(",")[1].split()[0])
    within = kilograms / (0.42 if "propane" in gear.name else 0.51) / 1000
    assert within < gear.form.volume < 2 * within
    assert gear.mass_kg is not None
    assert 1.5 * kilograms < gear.mass_kg < 3 * kilograms


@pytest.mark.parametrize("gear", [g for g in catalogue() if g.name.startswith("dive bottle")], ids=lambda g: g.name)
def test_dive_bottles_hold_their_litres_and_their_metal(gear: Gear) -> None:
    """Litres within and the volume of the metal (steel 7850 kg/m³, aluminium 2700, from memory) fit the cylinder."""
    litres = float(gear.name.split(",")[1].split()[0]) / 1000
    assert gear.mass_kg is not None
    empty = gear.mass_kg - litres * 200 * 1.2  # air at 200 bar
    metal = empty / (2700 if "aluminium" in gear.name else 7850)
    assert 0.5 * gear.form.volume < litres + metal < gear.form.volume


@pytest.mark.parametrize("gear", [g for g in catalogue() if g.name.startswith("coil")], ids=lambda g: g.name)
def test_coils_weigh_what_their_rope_weighs(gear: Gear) -> None:
    """Polyester: 0.0009 kg/m for each mm² of diameter squared (the order of ISO 10556, from memory), within 15 %."""
    diameter, metres = (float(part.split()[0]) for part in gear.name.split(",")[1:])
    assert gear.mass_kg == pytest.approx(0.0009 * diameter**2 * metres, rel=0.15)
    rope = math.pi / 4 * (diameter / 1000) ** 2 * metres
    assert 0.25 < rope / gear.form.volume < 0.6  # looser than square packing, 0.785, and with a hole


@pytest.mark.parametrize(
    "gear", [g for g in catalogue() if g.kind == "sail" and "g/m2" in g.source], ids=lambda g: g.name
)
def test_sails_weigh_what_their_cloth_weighs(gear: Gear) -> None:
    """Dacron of 4 to 10 sailmaker's ounces, 42.83 g/m² each (28.5 x 36 in of it weighs an ounce), spinnakers from 1."""
    area = float(gear.name.split(" m2")[0].split()[-1])
    ounce = 0.028349523125 / (28.5 * 36 * INCH**2)
    assert gear.mass_kg is not None
    assert (1 if "spinnaker" in gear.name else 4) * ounce < gear.mass_kg / area < 1.3 * 10.5 * ounce


def test_a_foam_lifejacket_holds_its_foam() -> None:
    """ISO 12402: 100 N of buoyancy displace 9.95 l of sea water, 1025 kg/m³."""
    assert of("lifejacket, foam, 100 N").form.volume > 100 / (1025 * 9.80665)


@pytest.mark.parametrize("gear", [g for g in catalogue() if g.name.startswith("fender, ")], ids=lambda g: g.name)
def test_fenders_are_as_thick_as_they_are_called(gear: Gear) -> None:
    assert isinstance(gear.form, Capsule)
    assert gear.form.diameter == pytest.approx(length(gear.name.split(", ")[1], None))


# what a person types

BOX = Block(0.85, 0.65, 0.35)
TYPED = {
    "box 850x650x350": BOX,
    "box 850 x 650 x 350 mm": BOX,
    "Box 850×650×350": BOX,
    "box 85x65x35 cm": BOX,
    "box 850 by 650 by 350": BOX,
    "box 0.85 m x 65 cm x 350 mm": BOX,
    "box 18in x 12in x 9in": Block(0.4572, 0.3048, 0.2286),
    "box 18 3/8 x 12 x 9 in": Block(0.466725, 0.3048, 0.2286),
    'box 1\' 6" x 12" x 9⅜″': Block(0.4572, 0.3048, 0.238125),
    "box 1-6-0 x 1-0-0 x 0-9-3": Block(0.4572, 0.3048, 0.238125),
    "cylinder 320x600": Cylinder(0.32, 0.6),
    "cylinder 12in x 2ft": Cylinder(0.3048, 0.6096),
    "capsule 200x700": Capsule(0.2, 0.7),
    "board 1900x500x80": Board(1.9, 0.5, 0.08),
    "board 1900x500x80 rocker 60": Board(1.9, 0.5, 0.08, 0.06),
    "board 1900x500x80 rocker 6 cm outline 0x250, 900x500, 1900x0": Board(
        1.9, 0.5, 0.08, 0.06, ((0, 0.25), (0.9, 0.5), (1.9, 0))
    ),
    "board 1900x500x80 outline 0x250; 900x500; 1900x0": Board(1.9, 0.5, 0.08, 0, ((0, 0.25), (0.9, 0.5), (1.9, 0))),
    "bag 60l 150": SoftBag(0.06, 0.15),
    "bag 60 litres x 15 cm": SoftBag(0.06, 0.15),
    "bag 60,5 l 150": SoftBag(0.0605, 0.15),
    "bag 0.06 m³, 150 mm": SoftBag(0.06, 0.15),
    "bag 2 cu ft 6in": SoftBag(0.056633693184, 0.1524),
}


@pytest.mark.parametrize("text", TYPED)
def test_sizes_are_read(text: str) -> None:
    assert gear_asked(text).form == TYPED[text]


@given(st.tuples(*[st.integers(1, 9999)] * 3))
def test_whole_millimetres(sizes: tuple[int, int, int]) -> None:
    assert gear_asked("box " + "x".join(map(str, sizes))).form == Block(*(size / 1000 for size in sizes))


def test_a_board_without_an_outline_says_that_its_ends_are_square() -> None:
    assert "square" in gear_asked("board 1900x500x80").note
    assert gear_asked("board 1900x500x80 outline 0x500, 1900x500").note == ""


HOSTILE = {
    "": "which gear",
    " \t\n": "which gear",
    "box": "needs its sizes",
    "box 0x650x350": "its length must be",
    "box 850x-650x350": "its breadth must be",
    "box nan x 650 x 350": "cannot|not a figure",
    "box 850xinfx350": "not a figure",
    "box 1e9x650x350": "power of ten",
    "box 99999999x650x350": "longer than any vessel",
    "box 850x650": "has 2 sizes, not 3",
    "box 850": "is one size, not 3",
    "box 850x650x350x4": "has 4 sizes, not 3",
    "box 850x650x": "only a blank",
    "box 18in x 12 x 9": "a unit after some",
    "box 18 x 12 x 1 ft 6 in": "a unit after some",
    "box 850x650x350 furlong": "no unit known",
    "box 1,500x650x350": "comma",
    "box 🚲x1x1": "cannot be read",
    "cylinder 320x600x200": "diameter x length",
    "cylinder 320": "is one size",
    "capsule 700x200": "less than its diameter",
    "board 1900x500x80 rocker": "only a blank",
    "board 1900x500x80 rocker 60 rocker 70": "twice",
    "board 1900x500x80 rocker 9000": "a quarter of its length",
    "board 1900x500x80 outline 0x250": "its outline",
    "board 1900x500x80 outline 250": "is one size",
    "bag 60 150": "as a soft bag",
    "bag 60l": "as a soft bag",
    "bag 60 gal 150": "unit of volume",
    "bag 1,500 l 150": "thousands",
    "bag 60l 600": "holds a ball",
    "bag 0l 100": "its volume",
    "bag nan 100": "as a soft bag",
    "bag 9999999999999999999999l 100": "its volume",
    "nowhere.stl mm": "there is no file",
    "nowhere.stl": "unit it is in",
    "nowhere.stl furlong": "no unit of a mesh file",
    "nowhere.toml": "no such file",
    "nowhere.toml:genoa": "no such file",
    "folded bike": "could be",
    "foldid bike": "near it are",
    "zzz": "no gear",
    "?!": "no gear",
    "x" * 5000: "too long",
    "box " + "9" * 5000: "too long",
    "\0": "which gear",
}


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: repr(text[:40]))
def test_what_cannot_be_is_refused_in_one_message(text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(TapeloftError, match=HOSTILE[text]) as refused:
        gear_asked(text)
    assert len(str(refused.value)) < 900


@given(st.text(max_size=60), st.sampled_from(["", *FORMS]))
def test_nothing_typed_is_a_traceback(text: str, word: str) -> None:
    try:
        found = gear_asked(f"{word} {text}")
    except TapeloftError:
        return
    assert found.form.volume > 0


def test_unknown_names_list_near_ones() -> None:
    with pytest.raises(TapeloftError, match="folded bike, 20 in wheels"):
        gear_asked("foldet bike 20")
    with pytest.raises(TapeloftError, match='"dive bottle, 12 l, steel, long" or "dive bottle, 12 l, steel, short"'):
        gear_asked("dive bottle 12")


HOLED = "is not closed|has a hole|edge"


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        (lambda mesh: mesh.update_faces(np.arange(len(mesh.faces)) != 3), HOLED),
        (lambda mesh: mesh.apply_scale(1e-6), "is its unit right"),
        (lambda mesh: mesh.apply_scale(1e5), "is its unit right"),
    ],
    ids=["a hole", "tiny", "huge"],
)
def test_a_mesh_that_is_no_gear(harm, said: str, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    mesh = trimesh.creation.box((600, 400, 200))
    harm(mesh)
    with pytest.raises(TapeloftError, match=said):
        gear_asked(f"{saved(mesh, tmp_path / 'thing.stl')} mm")


@pytest.mark.parametrize("data", [b"", b"solid\nendsolid\n", b"\0" * 100, b"not a mesh at all"])
def test_a_file_that_is_no_mesh(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "thing.stl").write_bytes(data)
    with pytest.raises(TapeloftError, match=r"thing\.stl"):
        gear_asked(f"{tmp_path / 'thing.stl'} mm")


# files of one's own

OWN = """
[[gear]]
name = "the red crate"
form = "box 600x400x280"
mass = "4 kg"
turn = "upright"
note = "spare filters"

[[gear]]
name = "genoa, rolled"
kind = "sail"
form = "cylinder 12 in x 6 ft"
source = "my tape"

[[gear]]
name = "old engine"
form = "parts/engine.stl cm"
mass = "120 lb"
"""


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    saved(trimesh.creation.box((60, 40, 50)), tmp_path / "parts" / "engine.stl")
    file = tmp_path / "mine.toml"
    file.write_text(OWN, encoding="utf-8")
    return file


def test_own_gear_is_read(mine: Path) -> None:
    crate, genoa, engine = read_gear(mine)
    assert crate == Gear(
        "the red crate", "own gear", Block(0.6, 0.4, 0.28), 4.0, Turn.UPRIGHT, "own gear", "spare filters"
    )
    assert (genoa.kind, genoa.turn, genoa.mass_kg) == ("sail", Turn.ANY_FACE, None)
    assert engine.form.volume == pytest.approx(0.12)
    assert engine.mass_kg == pytest.approx(120 * 0.45359237)


def test_own_gear_is_asked_for_by_name(mine: Path) -> None:
    assert gear_asked(f"{mine}:genoa").name == "genoa, rolled"
    assert gear_asked(f"{mine}: Old Engine").name == "old engine"
    with pytest.raises(TapeloftError, match=r'which gear.*"the red crate", "genoa, rolled" and "old engine"'):
        gear_asked(str(mine))
    with pytest.raises(TapeloftError, match=r'"genua".*near it are "genoa, rolled"'):
        gear_asked(f"{mine}:genua")


def test_a_single_piece_needs_no_name(tmp_path: Path) -> None:
    file = tmp_path / "one.toml"
    file.write_text('[[gear]]\nname = "box one"\nform = "box 1x2x3 m"\n', encoding="utf-8")
    assert gear_asked(str(file)).form == Block(1, 2, 3)


def test_only_the_piece_asked_for_must_be_sound(mine: Path) -> None:
    mine.write_text(OWN.replace("12 in x 6 ft", "12 in"), encoding="utf-8")
    assert gear_asked(f"{mine}:the red crate").mass_kg == 4
    with pytest.raises(SurveyError, match=r"mine.toml:12: genoa, rolled, form: .* is one size, not 2"):
        gear_asked(f"{mine}:genoa")


BROKEN = {
    "": "there is no gear in it",
    "gear = 3": "there is no gear in it",
    '[[gear]]\nform = "box 1x2x3"': "has no name",
    '[[gear]]\nname = ""\nform = "box 1x2x3"': "has no name",
    '[[gear]]\nname = "a"': 'it has no form\n    mend: write form = "box 850x650x350"',
    '[[gear]]\nname = "a"\nform = 3': "3 is no form",
    '[[gear]]\nname = "a"\nform = "folded bike 20"': "is no form",
    '[[gear]]\nname = "a"\nform = "box 0x2x3"': ":3: a, form: its length",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\nmass = 4': ":4: a, mass: .* no unit",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\nmass = [1]': ":4: a, mass:",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\nturn = "sideways"': ":4: a, turn: .*no rule",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\nturn = 3': ":4: a, turn:",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\nnote = 3': ":4: a, note: 3 is no text",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\nsizes = 3': ":4: a, sizes: .*\n    mend: take it out",
    '[[gear]]\nname = "a"\nform = "gone.stl mm"': "there is no file",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\n[[gear]]\nname = "A"\nform = "box 1x2x3"': "twice",
    '[[gear]]\nname = "a"\nform = "box 1x2x3"\n[boat]': '"boat" is not gear',
    "[[gear": "mine.toml",
}


@pytest.mark.parametrize("text", BROKEN)
def test_what_is_wrong_in_a_file_is_told_by_its_line(text: str, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SurveyError, match=BROKEN[text]):
        read_gear(file)


def test_all_that_is_wrong_is_told_at_once(mine: Path) -> None:
    mine.write_text(OWN.replace("4 kg", "4").replace("6 ft", "6 furlongs").replace("upright", "up?"), encoding="utf-8")
    with pytest.raises(SurveyError) as refused:
        read_gear(mine)
    assert [problem.line for problem in refused.value.problems] == [5, 6, 12]


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").mkdir()
    with pytest.raises(FileError):
        read_gear(tmp_path / "mine.toml")


# the command


@pytest.fixture
def run(run):  # type: ignore[no-untyped-def]
    """Run `tapeloft gear`."""
    return partial(run, "gear")


def test_the_whole_catalogue_is_listed(run) -> None:  # type: ignore[no-untyped-def]
    status, out, err = run()
    assert (status, err) == (0, "")
    for gear in catalogue():
        assert gear.name in out
        assert gear.source in out


def test_a_kind_is_listed_in_the_unit_asked_for(run) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("euro container", "--units", "in")
    assert status == 0
    assert "23 3/8 × 15 9/16 × 11" in out  # 594, 396 and 280 mm to the nearest sixteenth
    assert "folded" not in out


def test_json_holds_the_figures(run) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("--json")
    assert status == 0
    told = {one["name"]: one for one in json.loads(out)["gear"]}
    assert set(told) == {gear.name for gear in catalogue()}
    assert told["euro container, 600 x 400 x 147"]["size_m"] == [0.594, 0.396, 0.1475]
    assert told["kit bag, 60 l"]["form"] == {"is": "softbag", "volume_m3": 0.06, "thickness_m": 0.23}
    assert told["folded bike, 20 in wheels"]["turn"] == "on any face"


def test_own_gear_is_listed(run, mine: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run(mine)
    assert status == 0
    assert "mesh, 600 × 400 × 500 over all" in out
    status, out, _ = run(mine, "--json")
    assert json.loads(out)["gear"][2]["form"] == {"is": "body", "triangles": 12}


def test_an_unknown_kind(run) -> None:  # type: ignore[no-untyped-def]
    status, out, err = run("zeppelin")
    assert (status, out) == (2, "")
    assert "known: battery, board" in err


def test_turns_are_read_by_how_they_begin() -> None:
    from tapeloft.model.gear.turn import turn_called

    assert [turn_called(text) for text in ("as given", "Upright", "any face", "on any face", "any tilt")] == [
        Turn.AS_GIVEN, Turn.UPRIGHT, Turn.ANY_FACE, Turn.ANY_FACE, Turn.ANY_TILT
    ]  # fmt: skip
    for text in ("", "any", "sideways", 3):
        with pytest.raises(Misread):
            turn_called(text)
