"""What tests of written files share: a disk that is full, and what a killed process leaves."""

import os
import resource
import subprocess
import sys
from contextlib import contextmanager

from diproute.files import own_name


def dead_name(ending):
    """A name such as a process leaves that is gone."""
    with subprocess.Popen([sys.executable, "-S", "-c", ""]) as gone:
        gone.wait()
    return own_name(ending).replace(f"-{os.getpid()}-", f"-{gone.pid}-")


@contextmanager
def full_disk(room):
    """No file grows beyond so many bytes, as on a disk that is full."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def names(folder):
    """What lies in a folder."""
    return sorted(path.name for path in folder.iterdir())
