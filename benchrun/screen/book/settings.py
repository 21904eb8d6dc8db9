"""The settings of the shop, each with what it is."""

from benchrun.screen.book.desk import BookDesk
from benchrun.screen.book.fields import FieldsPane
from benchrun.shop.settings import SETTINGS, settings_in_words
from benchrun.signing_keys import change_settings


class SettingsPane(FieldsPane):
    """What shop.yaml says.

    Args:
        desk: The screen.
    """

    def __init__(self, desk: BookDesk) -> None:
        super().__init__(
            desk, "Settings", SETTINGS, lambda: settings_in_words(desk.shop), self._kept
        )

    def _kept(self, key: str, text: str) -> str:
        change_settings(self.desk.shop, {key: text})
        return f"{key} is kept"
