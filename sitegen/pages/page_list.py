"""Every kind of page and file in an airframe's folder. A new kind of page is one more line here."""

from __future__ import annotations

from typing import Any

from sitegen.pages import (
    a_to_z_page,
    board_page,
    bus_page,
    changes_page,
    diagnose_page,
    differences_page,
    drawing_page,
    equipment_page,
    failure_page,
    fault_isolation_page,
    fill_in_page,
    front_page,
    function_page,
    handout,
    indication_page,
    list_pages,
    live_file,
    load_page,
    notes_page,
    panel_page,
    protection_page,
    single_points_page,
    unchecked_page,
)
from sitegen.pages.page_context import DataFile, PageKind

PAGES: tuple[PageKind[Any] | DataFile, ...] = (
    front_page.PAGE,
    *list_pages.LISTS,
    differences_page.PAGE,
    drawing_page.PAGE,
    live_file.LIVE_FILE,
    live_file.STILL_FILE,
    board_page.PAGE,
    diagnose_page.PAGE,
    bus_page.PAGE,
    equipment_page.PAGE,
    failure_page.NAMED,
    failure_page.SINGLE,
    panel_page.PAGE,
    function_page.PAGE,
    indication_page.PAGE,
    single_points_page.PAGE,
    changes_page.PAGE,
    fault_isolation_page.PAGE,
    load_page.PAGE,
    load_page.TABLE,
    protection_page.PAGE,
    a_to_z_page.PAGE,
    a_to_z_page.FIND_INDEX,
    notes_page.LIST,
    notes_page.PAGE,
    handout.PAGE,
    fill_in_page.PAGE,
    unchecked_page.PAGE,
)
