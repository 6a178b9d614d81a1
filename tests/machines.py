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


def main() -> int:
    """0 if the tests hold on every machine."""
    long = "--long" in sys.argv[1:]
    which = ["--ignore=tests/browser"] if long else list(SENSITIVE)
    failed = []
    for name, settings in MACHINES.items():
        if name == "as it is" and not long:  # the other steps run there
            continue
        print(f"\n-- {name}", flush=True)
        env = {**os.environ, **usable(settings)}
        command = [sys.executable, "-m", "pytest", "-q", "--no-skips", *which]
        if subprocess.run(command, cwd=ROOT, env=env, check=False).returncode:
            failed.append(name)
        if long:
            os.environ.update(usable(settings))  # for the kernels too
            failed += [] if notebooks() else [f"{name}, notebooks"]
    print(f"\n{'FAILED: ' + ', '.join(failed) if failed else 'the same on every machine'}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
