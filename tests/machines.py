"""The numerically sensitive tests as other processors would run them: `python -m tests.machines [--long]`.

Each setting takes instructions away from this processor, in OpenBLAS, numpy and the C library; names that
numpy does not know are left out. `--long` runs all tests but the browser's, and the notebooks.
"""

import os
import subprocess
import sys

from tests.__main__ import ROOT, notebooks

MACHINES = {
    "as it is": {},
    "AVX2": {
        "OPENBLAS_CORETYPE": "Haswell",
        "NPY_DISABLE_CPU_FEATURES": "X86_V4 AVX512_ICL AVX512_SPR AVX512F AVX512_SKX",
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX512F",
    },
    "SSE": {
        "OPENBLAS_CORETYPE": "Nehalem",
        "NPY_DISABLE_CPU_FEATURES": "X86_V3 X86_V4 AVX512_ICL AVX512_SPR AVX2 FMA3 AVX512F AVX512_SKX",
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX512F,-AVX2,-FMA",
    },
}
SENSITIVE = (
    "tests/unit/test_choke_demo.py",
    "tests/unit/test_demo.py",
    "tests/unit/test_least_squares.py",
    "tests/unit/test_fitting.py",
    "tests/unit/test_montecarlo.py",
    "tests/unit/test_check_sweeps.py",
    "tests/published/test_gum.py",
    "tests/published/test_line_fits.py",
    "tests/notebooks/test_notebooks.py",
)


def usable(settings: dict[str, str]) -> dict[str, str]:
    """The settings without features that this numpy does not dispatch, at which it would warn."""
    from numpy._core._multiarray_umath import __cpu_dispatch__  # type: ignore[import-not-found]

    named = settings.get("NPY_DISABLE_CPU_FEATURES", "").split()
    known = " ".join(name for name in named if name in __cpu_dispatch__)
    return settings | ({"NPY_DISABLE_CPU_FEATURES": known} if named else {})


def under_way(settings: dict[str, str], *which: str) -> "subprocess.Popen[str]":
    """Tests on one machine; what they say is read when they are done."""
    command = [sys.executable, "-m", "pytest", "-q", "--no-skips", *which]
    env = {**os.environ, **usable(settings)}
    pipe = subprocess.PIPE
    return subprocess.Popen(command, cwd=ROOT, env=env, text=True, stdout=pipe, stderr=subprocess.STDOUT)


def short() -> list[str]:
    """Other machines on which a sensitive test failed; they are tried beside each other."""
    running = {name: under_way(MACHINES[name], *SENSITIVE) for name in MACHINES if name != "as it is"}
    for name, run in running.items():
        print(f"\n-- {name}\n{run.communicate()[0]}", flush=True)
    return [name for name, run in running.items() if run.returncode]


def long() -> list[str]:
    """Machines on which any test or notebook failed, one after another."""
    failed = []
    for name, settings in MACHINES.items():
        run = under_way(settings, "--ignore=tests/browser")
        print(f"\n-- {name}\n{run.communicate()[0]}", flush=True)
        failed += [name] if run.returncode else []
        os.environ.update(usable(settings))  # for the kernels too
        failed += [] if notebooks() else [f"{name}, notebooks"]
    return failed


def main() -> int:
    """0 if the tests hold on every machine."""
    failed = long() if "--long" in sys.argv[1:] else short()
    print(f"\n{'FAILED: ' + ', '.join(failed) if failed else 'the same on every machine'}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
