"""What the public calls for modes and insertion loss say of benches, pairs, chokes and four-ports."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import labkit
from labkit.analysis.analysis import analyse
from labkit.choke.mode_results import mode_numbers, source_of
from labkit.errors import EntryError, LabkitError, MissingReading
from labkit.faces.mode_report import InsertionLoss, Modes
from labkit.record.bench import Bench
from labkit.show import Picture, Table
from labkit.sweeps.sweep import Scattering
from labkit.theory.choke import Choke
from labkit.theory.insertion import Capacitor, Filter, Termination, insertion_loss, series_loss
from labkit.theory.modes import Mode, part_of_choke, part_of_inductances, part_of_pair, part_of_scattering
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection
from tests.benches import PAIR, coupled_bench, empty_bench
from tests.chokes import NEARLY_EQUAL as CHOKE
from tests.pages import drawings

CM, DM = Mode.COMMON, Mode.DIFFERENTIAL
F = np.geomspace(1e4, 3e7, 61)


@pytest.fixture(scope="module")
def demo() -> Bench:
    return labkit.demo_bench()


@pytest.fixture(scope="module")
def swept(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """A bench with readings and a four-port sweep."""
    folder = tmp_path_factory.mktemp("swept")
    bench = coupled_bench(folder / "bench", pair=CHOKE.pair())
    bench.sweep(None, four_port(folder / "choke.s4p"), "all-ports", setup="four-port", ports="1a 2a 1b 2b")
    return bench


def four_port(path: Path) -> Path:
    """The choke as a Touchstone file."""
    rows = ["# Hz S RI R 50"]
    for f, S in zip(F, CHOKE.scattering(F), strict=True):
        matrix = [" ".join(f"{x.real!r} {x.imag!r}" for x in row) for row in S.tolist()]
        rows += [f"{float(f)!r} {matrix[0]}", *matrix[1:]]
    path.write_text("\n".join([*rows, ""]))
    return path


def table(shown: Modes | InsertionLoss) -> list[tuple[str, ...]]:
    """The rows of the first table."""
    return list(next(part for part in shown.parts() if isinstance(part, Table)).rows)


def test_inductances_of_readings_are_those_that_are_predicted(demo: Bench) -> None:
    """P+ and B with their uncertainty are the figures of `predict`, and the chart carries bands."""
    rows = table(labkit.modes(demo))
    predicted = {p.connection: p.coupled for p in analyse(demo).predictions}
    for row, connection in zip(rows, (Connection.PARALLEL_AIDING, Connection.SERIES_OPPOSING), strict=True):
        ruled = predicted[connection]
        assert ruled is not None
        estimate = ruled.estimate
        assert row[2] == labkit.quantity.display(estimate.value, estimate.standard_uncertainty)
    assert "band common mode" in labkit.modes(demo).picture().svg


def test_the_spread_of_a_loss_is_that_of_its_inductance(demo: Bench) -> None:
    """u of the insertion loss is |dIL/dL| u(L), with L the inductance of the mode."""
    shown = labkit.insertion_loss(demo, CM, terminations=[Termination.of(50, 50)], frequency=[150e3])
    (loss,) = shown.numbers.losses
    ruled = next(p.coupled for p in analyse(demo).predictions if p.connection is Connection.PARALLEL_AIDING)
    assert ruled is not None
    L, u = ruled.estimate.value, ruled.estimate.standard_uncertainty
    ends = [series_loss(2j * np.pi * 150e3 * (L + sign * u), 50, 50) for sign in (1, -1)]
    assert loss.spread == pytest.approx((ends[0] - ends[1]) / 2, rel=0.01)


def test_the_spread_does_not_depend_on_which_end_is_called_a(demo: Bench) -> None:
    """The same readings of a part with the dot of winding 2 at the other end have the same uncertainty."""
    plain = source_of(demo)
    assert plain.inductance is not None
    assert plain.coupling is not None
    pair = Pair(*plain.coupling.route.pair(*(o.value for o in plain.coupling.observations)))
    mirrored = replace(plain, part=part_of_pair(pair, "1a 2b"))
    spreads = [mode_numbers(each, [150e3]).spreads for each in (plain, mirrored)]
    for mode in Mode:
        assert spreads[0][mode] == pytest.approx(spreads[1][mode], rel=1e-6)


def test_readings_say_that_they_are_lossless_and_where_they_come_from(demo: Bench) -> None:
    """Inductances alone end at 1 MHz by themselves, say what they leave out, and name the readings."""
    for shown in (labkit.modes(demo), labkit.insertion_loss(demo)):
        text = str(shown)
        assert "Lossless and without capacitance" in text
        assert "line-reversed" in text
        assert shown.numbers.frequency[-1] == 1e6
        assert "invented" in text


def test_a_bench_without_uncertainty_shows_none(tmp_path: Path) -> None:
    """Without a card there is a pair and no band."""
    bench = coupled_bench(tmp_path, card=None)
    shown = labkit.modes(bench)
    assert "±" not in str(shown)
    assert "band" not in shown.picture().svg


def test_dots_on_unlike_ends_turn_the_ties(tmp_path: Path) -> None:
    """A bench with dots at 1a and 2b ties 1a to 2b for common mode, and its modes are the same pair's."""
    bench = empty_bench(tmp_path, dots="1a 2b")
    bench.use(frequency="10 kHz", mode="series")
    for id, wiring, shown in (
        ("one", "1a 1b", "10.00 mH"),
        ("two", "2a 2b", "9.96 mH"),
        ("line", "1a 2b | 1b=2a", "25.0 µH"),
    ):
        bench.read(wiring, shown, id)
    numbers = labkit.modes(bench).numbers
    assert numbers.wirings[CM].notation == "1a 1b | 1a=2b 1b=2a"
    for mode, L in ((CM, PAIR.parallel_aiding), (DM, PAIR.B)):
        expected = 2 * np.pi * numbers.frequency * L
        np.testing.assert_allclose(np.abs(numbers.impedances[mode]), expected, rtol=1e-9)


def test_a_bench_with_two_sources_asks_which(swept: Bench) -> None:
    """Readings and a four-port are not mixed and none is preferred in silence; an unknown id is refused."""
    with pytest.raises(EntryError, match="of='all-ports' or of='readings'"):
        labkit.modes(swept)
    with pytest.raises(EntryError, match="is no four-port sweep"):
        labkit.modes(swept, of="other")
    assert labkit.modes(swept, of="readings").numbers.mixed is None


def test_a_four_port_gives_what_the_choke_gives(swept: Bench) -> None:
    """Impedances and losses of the stored sweep are the choke's, checks hold, conversion is told."""
    shown = labkit.modes(swept, of="all-ports")
    numbers = shown.numbers
    np.testing.assert_array_equal(numbers.frequency, F)
    for mode in Mode:
        expected = part_of_choke(CHOKE).mode_impedance(mode, F)
        np.testing.assert_allclose(numbers.impedances[mode], expected, rtol=1e-6)
    assert numbers.gain is not None
    assert numbers.asymmetry is not None
    assert max(numbers.gain.amount, numbers.asymmetry.amount) < 1e-9
    assert numbers.conversion is not None
    assert 1e-4 < numbers.conversion[0] < 0.1
    text = str(shown)
    assert text.count("nothing above rounding") == 2
    assert "From the four-port sweep all-ports (line" in text
    loss = labkit.insertion_loss(swept, DM, of="all-ports").numbers.losses[0]
    np.testing.assert_allclose(loss.dB, insertion_loss(Filter(part_of_choke(CHOKE)), DM, loss.termination, F))


def test_trouble_in_a_four_port_is_named() -> None:
    """Gain and asymmetry are told with frequency, ports and amount."""
    S = CHOKE.scattering(F)
    S[7] *= 1.02
    S[3, 0, 2] += 0.05
    ports = ("1a", "2a", "1b", "2b")
    part = part_of_scattering(F, S, 50.0)
    source = source_of(part)
    measured = type(source)(part, F, scattering=(Scattering(F, S, np.full(4, 50.0)), ports))
    text = str(labkit.modes(measured))
    assert "a passive part gives no power" in text
    assert "|S13 − S31|" in text
    assert "R, L, C and coupling treat both ways alike" in text


def test_where_lossless_formulas_may_be_used() -> None:
    """f_c = (R1 + R2)/(2πB) of a choke is told, and the frequency from which 99 % of the mismatch shows."""
    text = str(labkit.modes(CHOKE))
    corner = 0.25 / (2 * np.pi * float(CHOKE.pair().B))
    assert f"{corner / 1e3:.2f} kHz" in text
    assert f"{corner / 1e2:.1f} kHz" in text
    assert "No winding resistance is known" in str(labkit.modes(PAIR))


def test_both_tyings_are_drawn(demo: Bench) -> None:
    """Each mode has its schematic with a source, and the chart comes last."""
    shown = labkit.modes(demo)
    pictures = [part for part in shown.parts() if isinstance(part, Picture)]
    assert [("A source drives the clips." in p.alt) for p in pictures] == [True, True, False]
    assert "Meter clips on 1a and 2a" in shown.drawing("differential mode").alt


def test_capacitors_are_said_with_a_caution_and_a_corner() -> None:
    """Text with a unit becomes a capacitor where it was put; the caution is there if and only if one is."""
    shown = labkit.insertion_loss(PAIR, x_load="0.47 µF", y_load=Capacitor(4.7e-9, L=10e-9))
    text = str(shown)
    for said in ("470 nF from line to line on the side of the load", "10.0 nH in series", "licensed for it"):
        assert said in text
    corners = {corner.what[:6]: corner.frequency for corner in shown.numbers.corners}
    L, B = PAIR.parallel_aiding, PAIR.B
    assert corners["common"] == pytest.approx(1 / (2 * np.pi * np.sqrt(L * 9.4e-9)))
    assert corners["differ"] == pytest.approx(1 / (2 * np.pi * np.sqrt(B * (0.47e-6 + 2.35e-9))))
    alone = str(labkit.insertion_loss(PAIR))
    assert "licensed" not in alone
    assert "The choke alone." in alone


def test_capacitors_on_both_sides_have_no_simple_corner() -> None:
    """With X-capacitors on both sides the one-resonance formula does not hold and is not shown."""
    shown = labkit.insertion_loss(PAIR, DM, x_source="1 µF", x_load="1 µF")
    assert shown.numbers.corners == ()


def test_what_stands_at_either_side() -> None:
    """Both modes between the three pairs of the standard and the network, unless others are given."""
    names = [row[:2] for row in table(labkit.insertion_loss(CHOKE))]
    assert names[0] == ("common mode", "50 Ω / 50 Ω")
    assert names[3] == ("common mode", "network, 25 Ω / 25 Ω")
    assert names[7] == ("differential mode", "network, 100 Ω / 100 Ω")
    assert len(names) == 8
    one = labkit.insertion_loss(CHOKE, "common mode", terminations=[Termination.of(1, 2)])
    assert [row[1] for row in table(one)] == ["1 Ω / 2 Ω"]


def test_against_the_network_as_it_is() -> None:
    """Asked for, the network stands there as a resistance and as its impedance, without and with 5 Ω."""
    shown = labkit.insertion_loss(CHOKE, CM, terminations="network")
    names = [row[1] for row in table(shown)]
    assert names[0] == "network, 25 Ω / 25 Ω"
    assert [("5 Ω)" in name) for name in names] == [False, False, True]
    nominal, real, _ = (loss.dB for loss in shown.numbers.losses)
    assert abs(nominal - real)[0] > 1
    assert abs(nominal - real)[-1] < 0.1


def test_three_windings_say_which_lines_are_driven() -> None:
    """A three-line choke shows its modes and says that the third line stays open."""
    trio = part_of_inductances(np.full((3, 3), 9e-3) + np.eye(3) * 1e-3, "1a 2a 3a")
    text = str(labkit.modes(trio))
    assert "the others stay open" in text
    assert "tie 1a to 2a to 3a" in text


def test_inductances_of_a_three_line_choke() -> None:
    """(L + 2M)/3 and 2(L - M) of three equal windings, whatever ends the dots are on."""
    trio = Choke(R=(1, 1, 1), leakage=(1e-3, 1e-3, 1e-3), core=9e-3, turns=(1, 1, -1))
    assert [row[2] for row in table(labkit.modes(trio))] == ["9.333 mH", "2.000 mH"]
    assert "winding resistance" not in str(labkit.modes(trio))


def test_what_holds_for_the_usual_terminations_is_said_of_them_only() -> None:
    """That only the sum of source and load counts is said where those of the standard are shown."""
    assert "only the sum of source and load" in str(labkit.insertion_loss(PAIR))
    assert "only the sum" not in str(labkit.insertion_loss(PAIR, terminations="network"))
    assert "only the sum" not in str(labkit.insertion_loss(PAIR, x_load="1 nF"))


def test_both_sizes_and_faces(demo: Bench) -> None:
    """As a page and for a projector, in HTML and as text."""
    for shown in (labkit.modes(demo, size="projector"), labkit.insertion_loss(demo, size="projector")):
        assert drawings(shown._repr_html_())
        assert str(shown)


REFUSED = [
    (lambda: labkit.modes(42), EntryError, "type int has no modes"),  # type: ignore[arg-type]
    (lambda: labkit.modes(PAIR, frequency=[]), EntryError, "above zero"),
    (lambda: labkit.modes(PAIR, frequency=[-1.0]), EntryError, "above zero"),
    (lambda: labkit.insertion_loss(PAIR, "common"), EntryError, "is not a mode"),
    (lambda: labkit.insertion_loss(PAIR, terminations="50/50"), EntryError, "at either side"),
    (lambda: labkit.insertion_loss(PAIR, x_load=4.7e-9), EntryError, "with its unit"),  # type: ignore[arg-type]
    (lambda: labkit.insertion_loss(PAIR, x_load="4.7"), EntryError, "4.7"),
    (lambda: str(labkit.modes(PAIR, size="poster")), EntryError, "is not a size"),
    (lambda: labkit.modes(Pair(10e-3, 1e-3, 1e-6)), LabkitError, "passive"),
]


@pytest.mark.parametrize(("call", "error", "said"), REFUSED)
def test_bad_input_gets_one_sentence(call: object, error: type[LabkitError], said: str) -> None:
    """What was given, what is accepted, what to do."""
    assert callable(call)
    with pytest.raises(error, match=said):
        call()


def test_a_bench_without_readings_says_what_is_missing(tmp_path: Path) -> None:
    """No pair, no modes: the sentence is followed by what to read."""
    with pytest.raises(MissingReading, match="do not give a pair yet"):
        labkit.modes(empty_bench(tmp_path))
