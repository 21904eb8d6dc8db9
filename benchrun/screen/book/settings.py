"""The settings of the shop, each with what it is."""

from benchrun.screen.book.fields import FieldsPane
from benchrun.screen.book.host import BookHost
from benchrun.shop.settings import SETTINGS, settings_in_words
from benchrun.signing_keys import change_settings


class SettingsPane(FieldsPane):
    """What shop.yaml says.

    Args:
        host: The screen.
    """

    def __init__(self, host: BookHost) -> None:
        super().__init__(
            host, "Settings", SETTINGS, lambda: settings_in_words(host.shop), self._kept
        )

    def _kept(self, key: str, text: str) -> str:
        change_settings(self.host.shop, {key: text})
        return f"{key} is kept"
