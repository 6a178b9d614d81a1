"""A choke from its record: truth recovered, findings in words, numbers alike in every file."""

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from labkit.choke.characterisation import Characterisation, characterisation_of
from labkit.choke.findings import say
from labkit.record.bench import Bench
from labkit.record.demo import demo_bench
from labkit.record.virtual_bench import VirtualSweep
from labkit.theory.choke import Choke
from tests.benches import coupled_bench, empty_bench
from tests.make_data.choke_demo import CHOKE, SESSIONS

WIRINGS = {
    "one": "1a 1b",
    "two": "2a 2b",
    "reversed": "1a 2a | 1b=2b",
    "shorted": "1a 1b | 2a=2b",
    "side": "1a 1b | 1a=2a 1b=2b",
}
F = np.geomspace(1e3, 30e6, 60)


def swept_bench(
    folder: Path,
    wirings: dict[str, str] = WIRINGS,
    accuracy: str = "0.25 %",
    dots: str | None = "1a 2a",
    **changed: Any,
) -> Bench:
    """A bench with sweeps of an invented choke; `changed` gives single wirings another choke."""
    bench = empty_bench(folder / "bench", dots=dots)
    for id, wiring in wirings.items():
        sweep = VirtualSweep(changed.get(id, CHOKE), F, seed=7, noise=3e-4, gain=1e-3)
        (folder / f"{id}.csv").write_bytes(sweep.table(wiring))
        bench.sweep(wiring, folder / f"{id}.csv", id, accuracy=accuracy, bias="none")
    return bench


@pytest.fixture(scope="module")
def demo() -> Characterisation:
    """The shipped choke."""
    return characterisation_of(demo_bench("choke_characterisation"))


def kinds(found: Characterisation) -> list[str]:
    """Kinds of all findings, in order."""
    return [finding.kind for finding in say(found)]


def test_the_truth_of_the_demo_is_recovered_within_its_uncertainty(demo: Characterisation) -> None:
    """Twelve numbers of the choke behind the record lie within ± U (k = 2), from readings and from sweeps."""
    pair = CHOKE.pair()
    M = (pair.L1 + pair.L2 - pair.B) / 2
    k = M / (pair.L1 * pair.L2) ** 0.5
    truth = {
        "self_inductance_1_from_readings": pair.L1,
        "mutual_inductance_1_2_from_readings": M,
        "leakage_differential_mode_1_2_from_readings": pair.B,
        "coupling_coefficient_1_2_from_readings": k,
        "self_inductance_2_low_frequency": pair.L2,
        "mutual_inductance_1_2_from_series_opposing_low_frequency": M,
        "coupling_coefficient_1_2_from_series_opposing_low_frequency": k,
        "leakage_per_winding_1_2_from_series_opposing_low_frequency": (pair.L1 * pair.L2) ** 0.5 - M,
        "leakage_differential_mode_1_2_from_series_opposing_low_frequency": pair.B,
        "loop_resistance_1_2_from_series_opposing_low_frequency": float(CHOKE.R.sum()),
        "common_mode_inductance_low_frequency": pair.parallel_aiding,
        "winding_resistance_corner_1_2": float(CHOKE.R.sum()) / (2 * np.pi * pair.B),
    }
    for name, value in truth.items():
        number = demo.number(name)
        assert number.U is not None
        assert abs(number.value - float(value)) <= number.U, name
        assert number.U < 0.02 * abs(number.value), name


def test_self_resonances_are_those_of_the_truth(demo: Characterisation) -> None:
    """Each lies within ± 2 U of where the choke's own phase crosses zero on a fine grid."""
    for found in demo.spectra.resonances:
        assert found.frequency is not None
        assert found.u is not None
        fine = found.frequency * np.linspace(0.97, 1.03, 60001)
        X = CHOKE.impedance(found.sweep.wiring, fine).imag
        true = fine[np.flatnonzero((X[:-1] > 0) & (X[1:] <= 0))[0]]
        assert abs(found.frequency - true) <= 4 * found.u + fine[1] - fine[0], found.sweep.id


def test_both_routes_agree_on_the_demo_and_say_so(demo: Characterisation) -> None:
    """One strong finding for all three meanings and the loop's resistance."""
    assert "two routes agree" in kinds(demo)
    assert "two routes disagree" not in kinds(demo)


def test_a_resistance_in_the_short_is_named_with_its_size(tmp_path: Path) -> None:
    """100 mΩ in the short: the routes disagree, and the caution says about how much would explain it."""
    dirty = Choke(
        R=(CHOKE.R[0], CHOKE.R[1] + 0.1),
        leakage=CHOKE.leakage,
        core=CHOKE.core,
        relaxation=CHOKE.relaxation,
        C=CHOKE.C,
        between=CHOKE.between,
    )
    found = characterisation_of(swept_bench(tmp_path, shorted=dirty))
    (finding,) = [f for f in say(found) if f.kind == "two routes disagree"]
    assert finding.tone == "caution"
    assert "loop resistance" in finding.sentence
    assert finding.figures["shorting_resistance"].value == pytest.approx(0.1, rel=0.05)


def test_common_mode_as_swept_and_as_computed_agree_unless_a_tie_is_open(tmp_path: Path) -> None:
    """With one tie off the parallel sweep is that of one winding, which a loose pair shows at once."""
    assert "common-mode closure" in kinds(characterisation_of(swept_bench(tmp_path)))
    loose = Choke(R=(0.1, 0.1), leakage=(0.4e-3, 0.4e-3), core=4e-3, relaxation=1e6, C=(6e-12, 6e-12))
    other = tmp_path / "open"
    other.mkdir()
    bench = empty_bench(other / "bench")
    for id, wiring in WIRINGS.items():
        built = "1a 1b | 1a=2a" if id == "side" else wiring
        sweep = VirtualSweep(loose, F, seed=7, noise=3e-4, gain=1e-3)
        (other / f"{id}.csv").write_bytes(sweep.table(built))
        bench.sweep(wiring, other / f"{id}.csv", id, accuracy="0.25 %")
    (closure,) = [f for f in say(characterisation_of(bench)) if f.kind == "common-mode closure"]
    assert "DISAGREE" in closure.sentence
    assert closure.tone == "caution"


def test_gaps_and_missing_sweeps_are_said(tmp_path: Path) -> None:
    """What nobody noted is a caution that names the sweeps; without sweeps it says how to store one."""
    found = characterisation_of(swept_bench(tmp_path, {"one": "1a 1b"}))
    said = "\n".join(f.sentence for f in say(found))
    assert "Not noted for one: test level, temperature, fixture, instrument" in said
    assert "common mode: sweep 1a 1b | 1a=2a 1b=2b, or each winding alone" in said
    bare = characterisation_of(coupled_bench(tmp_path / "bare"))
    assert [f.kind for f in say(bare)][:2] == ["no sweeps", "common mode from readings"]


def test_a_kept_file_that_is_gone_stops_nothing(tmp_path: Path) -> None:
    """The other sweeps are worked out, and a caution names the lost one."""
    bench = swept_bench(tmp_path)
    lost = next(stored for stored in bench.sweeps if stored.id == "shorted")
    (bench.record.folder / "sweeps" / f"{lost.sha256}.csv").unlink()
    found = characterisation_of(bench)
    assert len(found.spectra.sweeps) == 4
    (caution,) = [f for f in say(found) if f.kind == "sweep left out"]
    assert "Sweep shorted is left out" in caution.sentence


def test_every_finding_rests_on_ids_of_the_record(demo: Characterisation) -> None:
    """Whatever it rests on is a reading or a sweep that stands."""
    known = {r.id for r in demo.bench.readings} | {s.id for s in demo.bench.sweeps}
    findings = say(demo)
    assert all(set(finding.ids) <= known for finding in findings)
    assert all(finding.ids for finding in findings if finding.tone == "strong")


def test_csv_and_json_hold_the_same_numbers(demo: Characterisation) -> None:
    """Every single number and every point of every curve is the same float in both, units in the names."""
    n = demo.numbers
    content = json.loads(n.json)
    head, *lines = n.csv.splitlines()
    assert next(csv.reader([head])) == [f"# {content['cite']}"]
    rows = {row["name"]: row for row in csv.DictReader(lines)}
    assert list(rows) == list(content["scalars"])
    for name, row in rows.items():
        given = content["scalars"][name]
        assert float(row["value"]) == given["value"]
        U = given["expanded_uncertainty_k2"]
        assert (float(row["expanded_uncertainty_k2"]) if row["expanded_uncertainty_k2"] else None) == U
        assert row["sweeps_and_readings"].split() == given["rests_on"]
    table = list(csv.DictReader(io.StringIO("\n".join(n.spectra_csv.splitlines()[1:]))))
    at = {float(row["frequency_Hz"]): row for row in table}
    for spectrum in content["spectra"].values():
        columns = [name for name in spectrum if name not in ("what", "rests_on", "frequency_Hz")]
        for name in columns:
            for f, value in zip(spectrum["frequency_Hz"], spectrum[name], strict=True):
                assert (float(at[f][name]) if at[f][name] else None) == value
    assert {"mutual_inductance_1_2_from_readings_H", "self_resonance_sweep_winding_1_Hz"} <= set(rows)
    assert "common_mode_impedance_magnitude_measured_Ohm" in table[0]


def test_what_does_not_exist_is_empty_and_never_zero(demo: Characterisation) -> None:
    """Above self-resonance there is no k: its cells are empty, null in JSON; the four-port has no U."""
    n = demo.numbers
    k = json.loads(n.json)["spectra"]["coupling_coefficient_1_2_from_series_opposing"]
    values = k["coupling_coefficient_1_2_from_series_opposing"]
    assert values[0] is not None
    assert values[-1] is None
    assert "NaN" not in n.json
    assert "nan" not in n.spectra_csv
    header = n.spectra_csv.splitlines()[1].split(",")
    assert not [name for name in header if "uncertainty" in name and "four_port" in name]


def test_a_citation_has_all_that_finds_the_record_again(demo: Characterisation) -> None:
    """Title, version, hash of the record, layout and date, and that the data are invented."""
    from labkit import __version__

    cite, bench = demo.numbers.cite, demo.bench
    for part in (bench.record.digest, __version__, "labkit-characterisation-1", bench.events[-1].utc):
        assert str(part) in cite
    assert "INVENTED DATA" in cite
    assert SESSIONS["choke_characterisation"].title in cite


def test_the_same_record_gives_the_same_bytes() -> None:
    """Two characterisations of it, worked out from nothing, give the same three files."""
    one, other = (Characterisation(demo_bench("choke_characterisation")).numbers for _ in range(2))
    assert (one.csv, one.spectra_csv, one.json) == (other.csv, other.spectra_csv, other.json)


def test_three_windings_have_a_matrix_three_pairs_and_a_common_mode() -> None:
    """The demo of three: common mode from readings and as swept agree, and each pair has its own leakage."""
    found = characterisation_of(demo_bench("three_windings"))
    read = found.number("common_mode_inductance_from_readings")
    swept = found.number("common_mode_inductance_low_frequency")
    assert abs(read.value - swept.value) < (read.U or 0) + (swept.U or 0)
    choke = SESSIONS["three_windings"].choke
    for i, j in ((1, 2), (1, 3), (2, 3)):
        B = found.number(f"leakage_differential_mode_{i}_{j}_from_readings")
        assert B.value == pytest.approx(choke.leakage[i - 1] + choke.leakage[j - 1], abs=2 * (B.U or 0))
    assert found.matrix is not None
    assert found.matrix.positive_semidefinite is True
    assert abs(found.matrix.checks[0].E_n) <= 1
    assert kinds(found).count("differential mode") == 3


def test_sweeps_without_readings_have_a_matrix_and_tell_the_dots(tmp_path: Path) -> None:
    """A bench of sweeps alone, nobody marked the dots: both are worked out, and both are said to be."""
    bench = swept_bench(tmp_path, {id: WIRINGS[id] for id in ("one", "two", "reversed")}, dots=None)
    found = characterisation_of(bench)
    assert bench.dots is None
    assert found.told_by_sweeps
    assert any("are not marked; a series sweep is taken as aiding" in f.sentence for f in say(found))
    B = found.number("leakage_differential_mode_1_2_from_sweeps")
    assert B.value == pytest.approx(CHOKE.pair().B, abs=B.U)
    assert "inductance matrix from sweeps" in found.number("mutual_inductance_1_2_from_sweeps").what
    assert any(f.sentence.startswith("From sweeps at 1 kHz") for f in say(found))


def test_a_changed_record_is_characterised_anew(tmp_path: Path) -> None:
    """The result is kept while the record stands, and made again after a further sweep."""
    bench = swept_bench(tmp_path, {"one": "1a 1b"})
    first = characterisation_of(bench)
    assert characterisation_of(bench) is first
    (tmp_path / "two.csv").write_bytes(VirtualSweep(CHOKE, F, seed=7).table("2a 2b"))
    bench.sweep("2a 2b", tmp_path / "two.csv", "two")
    assert set(characterisation_of(bench).spectra.singles) == {1, 2}


def test_what_first_order_neglects_of_k_is_told_and_right(tmp_path: Path) -> None:
    """Mean of 1 - k over 20000 drawn errors lies below the truth by the amount that the sentence gives."""
    found = characterisation_of(swept_bench(tmp_path, accuracy="1 %"))
    (said,) = [f.sentence for f in say(found) if f.kind == "coupling"]
    assert "look smaller by 0.0000083" in said
    rng = np.random.default_rng(5)
    off = np.exp(rng.uniform(-0.01, 0.01, (3, 20000)))
    L1, L2, B = CHOKE.pair().L1, CHOKE.pair().L2, CHOKE.pair().B
    drawn = 1 - (L1 * off[0] + L2 * off[1] - B * off[2]) / 2 / np.sqrt(L1 * L2 * off[0] * off[1])
    true = 1 - (L1 + L2 - B) / 2 / np.sqrt(L1 * L2)
    assert true - drawn.mean() == pytest.approx(0.01**2 / 12, rel=0.1)
