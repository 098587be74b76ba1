"""A file is whole under its name, or what stood there before stays."""

import os
import shutil
from pathlib import Path

import pytest

from inventory.whole_file import PRIVATE, whole_file


def test_what_is_broken_off_leaves_the_file_before(tmp_path: Path) -> None:
    """Neither half of the new one, nor a scrap beside it; a link stays a link."""
    file, link = tmp_path / "out.csv", tmp_path / "latest.csv"
    file.write_text("before")
    link.symlink_to(file)

    def broken_off() -> None:
        with whole_file(file) as part:
            part.write_text("half")
            assert file.read_text() == "before"
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        broken_off()
    assert (file.read_text(), sorted(tmp_path.iterdir())) == ("before", [link, file])

    with whole_file(link, PRIVATE) as part:
        part.write_text("after")
    assert (file.read_text(), link.is_symlink()) == ("after", True)
    assert file.stat().st_mode & 0o077 == 0


def test_what_a_power_cut_left_is_in_nobodys_way(tmp_path: Path) -> None:
    """A process of the same number, as in a container, writes the same name again."""
    file = tmp_path / "out.csv"
    with whole_file(file) as part:
        shutil.copy(part, tmp_path / "left")
    shutil.move(tmp_path / "left", part)
    with whole_file(file) as again:
        again.write_text("whole")

    assert file.read_text() == "whole"


def test_a_pipe_is_written_to_as_it_is(tmp_path: Path) -> None:
    """A device or pipe is no file that another could take the place of."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with whole_file(pipe) as part:
        assert part == pipe
    assert pipe.is_fifo()
