"""Which shop is opened where none is named: the one that was made last."""

import pytest

from benchrun.cli import main
from benchrun.shop.folder import default_path, exists, remembered_path


@pytest.fixture(autouse=True)
def own_settings(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHRUN_SCREEN", str(tmp_path / "settings" / "screen.yaml"))
    monkeypatch.delenv("BENCHRUN_SHOP", raising=False)
    return tmp_path / "settings"


def test_a_shop_that_was_made_is_opened_next_and_that_is_said(tmp_path, own_settings, capsys):
    shed = tmp_path / "shed"
    assert main(["shop", "new", str(shed)]) == 0
    said = capsys.readouterr().out
    assert "From now on benchrun opens it where no other is named" in said
    assert str(own_settings / "shop-folder") in said
    assert "Next: benchrun people add 'YOUR NAME'" in said
    assert default_path() == shed
    assert main(["--shop", str(tmp_path / "other"), "board"]) == 2
    capsys.readouterr()
    assert main(["board"]) == 0
    assert "shed" in capsys.readouterr().out


def test_a_shop_that_moves_is_still_the_one_that_is_opened(tmp_path, capsys):
    shed, barn = tmp_path / "shed", tmp_path / "barn"
    main(["shop", "new", str(shed)])
    assert main(["shop", "move", str(barn)]) == 0
    assert default_path() == barn


def test_one_that_is_not_there_any_more_is_told_and_no_other_is_begun(tmp_path, capsys):
    shed = tmp_path / "shed"
    main(["shop", "new", str(shed)])
    shed.rename(tmp_path / "gone")
    capsys.readouterr()
    assert main(["--plain"]) == 2
    assert f"there is no shop in {shed}" in capsys.readouterr().err
    assert not exists(shed)


def test_a_name_in_the_environment_goes_first_and_that_is_said(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("BENCHRUN_SHOP", str(tmp_path / "first"))
    main(["shop", "new", str(tmp_path / "shed")])
    assert "BENCHRUN_SHOP names another" in capsys.readouterr().out
    assert default_path() == tmp_path / "first"
    assert remembered_path() == tmp_path / "shed"
