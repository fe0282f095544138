"""How much memory a command takes at most, in a process of its own."""

import subprocess
import sys
from pathlib import Path

import pytest

MOST_KIB = 1.2 * 2**20
"""What a scan of two million triangles or a picture of sixty million pixels may take: a small machine has more."""
told_by_the_kernel = pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="this system does not tell a process's memory so"
)


def peak_kib(folder, *words):
    """Run the command in a folder; the child's peak of resident memory [KiB], numpy's, scipy's and Python's in it.

    It is the kernel's own count: that of ``resource`` begins with what the process had that started this one.
    """
    told = "print(re.search(r'VmHWM:\\s+(\\d+) kB', open('/proc/self/status').read())[1]); sys.exit(code)"
    code = f"import re, sys; from bodygen.cli import main; code = main({[*words]}); {told}"
    done = subprocess.run([sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return int(done.stdout.split()[-1])
