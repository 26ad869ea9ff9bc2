"""Says why lastcut cannot be installed on this Python or system, and what to do instead.

Written so that a Python too old for lastcut can still read it and say so: no f-strings, no annotations.
"""

from __future__ import print_function

import platform
import sys
import sysconfig

OLDEST = (3, 11)
NEWEST = (3, 14)  # the newest Python for which every version in constraints.txt has a wheel

# Which of the packages have no wheel for which systems was asked of the package index, version by version.
SYSTEMS = {
    "other python": "lastcut needs the usual Python (CPython), which this is not. Start with python3.",
    "windows arm": (
        "lastcut cannot be installed with this Python: pyvrp, pyogrio and pyarrow have no ready-made "
        "package for Windows on ARM. Windows 11 on ARM also runs programs made for Intel and AMD (x86-64): "
        "install the x86-64 Python and start with that (not tried by us)."
    ),
    "32 bit": "lastcut cannot be installed with a 32-bit Python. Install the 64-bit one.",
    "linux arm": (
        "lastcut cannot be installed on Linux on ARM: exactextract has no ready-made package for it. Use a "
        "Linux or Windows computer with an Intel or AMD processor, or a Mac with Apple silicon."
    ),
    "intel mac": (
        "lastcut cannot be installed with this Python: pyvrp has no ready-made package for a Mac with an "
        "Intel processor. On a Mac with Apple silicon, start from a terminal outside Rosetta; otherwise "
        "use another computer."
    ),
    "no glibc": (
        "lastcut cannot be installed on this Linux: rasterio, pyogrio and exactextract have no ready-made "
        "package for a system without glibc, such as Alpine. Use Debian, Ubuntu, Fedora or the like."
    ),
}


def unfit_reason(os_name):
    """Return why lastcut cannot be installed here, with what to do instead, or an empty text."""
    return version_problem(tuple(sys.version_info[:2]), os_name) or platform_problem(
        sysconfig.get_platform(),
        platform.machine(),
        platform.python_implementation(),
        platform.libc_ver()[0],
    )


def version_problem(version, os_name):
    """Return why this Python version (major, minor) will not do, or an empty text."""
    if OLDEST <= version <= NEWEST:
        return ""
    why = "lastcut needs Python 3.11 or newer"
    if version > NEWEST:
        why = "lastcut's packages are ready-made for Python 3.11 to {0}.{1} only".format(NEWEST[0], NEWEST[1])
    example = "py -3.13 scripts\\start.py" if os_name == "nt" else "python3.13 scripts/start.py"
    mend = "Install Python 3.13 beside it and start with that one, for example: {0}".format(example)
    return "{0}; this is Python {1}.{2}. {3}".format(why, version[0], version[1], mend)


def platform_problem(tag, machine, implementation, libc):
    """Return why this system will not do, or an empty text.

    `tag` is sysconfig's platform, such as `win-arm64`; `machine` is the processor, which a Mac's tag leaves
    open; `libc` is the C library's name, where there is one to name.
    """
    unfit = {
        "other python": implementation != "CPython",
        "windows arm": tag == "win-arm64",
        "32 bit": tag in ("win32", "linux-i686") or tag.startswith("linux-armv"),
        "linux arm": tag == "linux-aarch64",
        "intel mac": tag.startswith("macosx") and machine == "x86_64",
        "no glibc": tag.startswith("linux") and libc != "glibc",
    }
    return "".join([SYSTEMS[name] for name in SYSTEMS if unfit[name]][:1])
