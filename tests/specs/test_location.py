from __future__ import annotations

from screener.specs.location import specs_folder


def test_the_folder_holds_the_tables() -> None:
    assert (specs_folder() / "boundary_dimensions.csv").is_file()
    assert (specs_folder() / "README.md").is_file()
