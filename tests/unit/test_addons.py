"""What naming an add-on promises."""

import sys

import pytest

from spatial.addons import add_on
from spatial.errors import InputError
from tests.unit.making import lines_of, write_text

GROUP = "lastcut.test_group"


def ours():
    return "ours"


@pytest.fixture
def install(tmp_path, monkeypatch):
    """Install a package that offers names: {offered name: what its module defines it as}."""
    monkeypatch.syspath_prepend(tmp_path)

    def offer(package, source, *names):
        monkeypatch.delitem(sys.modules, f"{package}_code", raising=False)  # of the test before
        write_text(tmp_path / f"{package}_code.py", source)
        about = tmp_path / f"{package}-1.2.dist-info"
        write_text(about / "METADATA", f"Metadata-Version: 2.1\nName: {package}\nVersion: 1.2\n")
        lines = [f"{name} = {package}_code:made" for name in names]
        write_text(about / "entry_points.txt", "\n".join([f"[{GROUP}]", *lines, ""]))

    return offer


def refusal(name, built_in=None):
    with pytest.raises(InputError) as refused:
        add_on(GROUP, name, built_in or {"page": ours})
    return lines_of(refused.value.problems)


def test_what_is_built_in_is_found_by_its_name():
    assert add_on(GROUP, "page", {"page": ours}) is ours


def test_what_a_package_offers_is_found_by_its_name(install):
    install("haytools", "def made():\n    return 'theirs'\n", "letters")
    assert add_on(GROUP, "letters", {"page": ours})() == "theirs"


def test_an_unknown_name_lists_the_known(install):
    install("haytools", "def made():\n    pass\n", "letters")
    assert refusal("leters") == [f"{GROUP}: 'leters': is not known. Use one of: letters, page"]


def test_where_nothing_is_known_it_is_said_that_none_is_installed():
    with pytest.raises(InputError) as refused:
        add_on(GROUP, "letters", {})
    (line,) = lines_of(refused.value.problems)
    assert line.endswith("is not known. None is installed: install the package that offers it")


def test_two_offers_of_one_name_are_refused_with_their_packages(install):
    install("haytools", "def made():\n    pass\n", "letters")
    install("otherhay", "def made():\n    pass\n", "letters")
    (line,) = refusal("letters")
    assert "is offered more than once" in line
    assert "haytools 1.2" in line
    assert "otherhay 1.2" in line


def test_an_offer_of_a_built_in_name_is_refused(install):
    install("haytools", "def made():\n    pass\n", "page")
    (line,) = refusal("page")
    assert "haytools 1.2, lastcut itself" in line


@pytest.mark.parametrize(
    ("source", "cause"),
    [
        ("raise ValueError('no licence')\n", "does not load (ValueError: no licence)"),
        ("def other():\n    pass\n", "does not load (AttributeError"),
        ("made = 3\n", "cannot be called"),
        ("raise SystemExit(3)\n", "does not load (SystemExit: 3)"),
    ],
)
def test_a_broken_add_on_is_named_with_its_version(install, source, cause):
    install("brokenhay", source, "letters")
    (line,) = refusal("letters")
    assert "letters: of brokenhay 1.2" in line
    assert cause in line


def test_a_broken_add_on_that_is_not_named_harms_nothing(install):
    install("brokenhay", "raise ValueError('no licence')\n", "letters")
    assert add_on(GROUP, "page", {"page": ours}) is ours
