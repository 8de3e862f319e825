"""Each sheet goes into an archival, accessible PDF by the document compiler without a warning, its fonts inside."""

from pathlib import Path

import pikepdf
import pytest
import typst

from drawing_cabinets import LARGE_CABINET
from drawing_networks import DOORED, MAPS, MATRICES, PATHS
from drawing_networks import schedule as door_sheet
from drawing_offices import LARGE_ROOMS
from drawing_servers import LARGE_SECTION
from drawing_stress import hostile_rooms
from scantling.outputs.drawings import address_map, cabinet, door_schedule, matrix, paths, rooms, schedule, section
from scantling.outputs.drawings.paper import DAY, NIGHT
from scantling.outputs.fonts import FOLDER

PAGE = """
#set document(title: "Sheet")
#set text(lang: "en", font: "Libertinus Serif")
#set page(width: 420mm, height: 297mm, margin: 0mm)
#image(bytes(sys.inputs.svg), alt: "A sheet", width: 420mm)
"""
SHEETS = {
    "N-1": (rooms.owners_sheet(LARGE_ROOMS, DAY), {"NationalPark", "LibertinusSerif"}),
    "N-2": (schedule.technicians_sheet(LARGE_ROOMS, DAY), {"NationalPark", "LibertinusSerif", "B612Mono"}),
    "N-1 with doors": (rooms.owners_sheet(DOORED["doors large"], DAY), {"NationalPark", "LibertinusSerif"}),
    "N-3": (matrix.matrix_sheet(MATRICES["large"], NIGHT), {"NationalPark", "LibertinusSerif", "B612Mono"}),
    "N-4": (address_map.address_sheet(MAPS["large"], DAY), {"NationalPark", "LibertinusSerif", "B612Mono"}),
    "N-5": (paths.paths_sheet(PATHS["large"], DAY), {"NationalPark", "LibertinusSerif", "B612Mono"}),
    "N-6": (
        door_schedule.schedule_sheet(door_sheet(LARGE_ROOMS, (DOORED["doors large"].doors or ())[:3]), DAY),
        {"NationalPark", "LibertinusSerif", "B612Mono"},
    ),
    "S-1": (section.section_sheet(LARGE_SECTION, NIGHT), {"NationalPark", "LibertinusSerif"}),
    "P-1": (cabinet.cabinet_sheet(LARGE_CABINET, DAY), {"NationalPark", "LibertinusSerif"}),
    "other scripts": (
        rooms.owners_sheet(hostile_rooms("\u0391\u03b8\u03ae\u03bd\u03b1 \u041a\u0438\u0435\u0432 \U0001f600"), DAY),
        {"NationalPark", "LibertinusSerif", "NotoSans"},
    ),
}


def fonts(page: pikepdf.Page) -> dict[str, bool]:
    """Base names of the fonts in the forms of a page, and whether their files are embedded."""
    found: dict[str, bool] = {}
    waiting = [page.obj.Resources]
    while waiting:
        resources = waiting.pop()
        for font in resources.Font.values() if "/Font" in resources else ():
            inner = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            keys = set(inner.FontDescriptor.keys())
            found[str(font.BaseFont)] = bool(keys & {"/FontFile", "/FontFile2", "/FontFile3"})
        forms = resources.XObject.values() if "/XObject" in resources else ()
        waiting += [form.Resources for form in forms if "/Resources" in form]
    return found


@pytest.mark.parametrize("name", SHEETS)
def test_the_compiler_takes_a_sheet_into_an_archival_accessible_document(name: str, tmp_path: Path) -> None:
    svg, families = SHEETS[name]
    page, written = tmp_path / "page.typ", tmp_path / "page.pdf"
    page.write_text(PAGE, encoding="utf-8")
    _, warnings = typst.compile_with_warnings(
        page,
        written,
        font_paths=[FOLDER],
        ignore_system_fonts=True,
        sys_inputs={"svg": svg},
        pdf_standards=["a-2a", "ua-1"],
    )
    assert not [warning.message for warning in warnings]
    with pikepdf.open(written) as pdf:
        assert len(pdf.pages) == 1
        inside = fonts(pdf.pages[0])
    assert inside
    assert all(inside.values())
    for family in families:
        assert any(family in base for base in inside), (family, sorted(inside))
