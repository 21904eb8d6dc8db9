"""First aid, laid over whatever page is in front."""

import asyncio
from collections.abc import Sequence
from pathlib import Path

from benchrun.dialogue.first_aid import first_aid_page
from benchrun.screen.dialogue_panes import page_pane
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.shop.folder import Shop


async def aid_pane(host: PaneHost, shop: Shop, in_hand: Sequence[tuple[str, Path]]) -> Pane:
    """The page of first aid.

    Args:
        host: The screen.
        shop: The shop.
        in_hand: The title and the file of each procedure that is being worked to.
    """
    page = await asyncio.to_thread(first_aid_page, shop, in_hand)
    return page_pane(host, page)
