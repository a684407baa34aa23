"""A supplier's price list: how its sums are written, which rows are ours, and what is taken over."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from contractor.accounts.models import AuditEntry
from contractor.catalogue.models import Material, PriceList, Supplier
from contractor.catalogue.price_lists import Columns as Held
from contractor.catalogue.price_lists import amount, guess, has_decimal_comma, likely_rows, read_list
from contractor.common.tables import CannotRead
from tests.factories import MaterialFactory


def said(response) -> str:
    return " ".join(response.content.decode().split())


@pytest.mark.parametrize(
    ("cell", "comma", "sum_"),
    [
        ("14.20", False, "14.20"), ("£1,234.50", False, "1234.50"), ("1 234,50 €", True, "1234.50"),
        ("1.234,50", True, "1234.50"), ("12", False, "12"), ("1,250", False, "1250"), ("1.250", True, "1250"),
        ("on request", False, None), ("", False, None), ("-4.00", False, None), ("1.2.3", False, None),
        ("nan", False, None), ("1e5", False, None), ("\u0663", False, None),
    ],
)  # fmt: skip
def test_sums_as_lists_write_them(cell, comma, sum_):
    assert amount(cell, comma) == (None if sum_ is None else Decimal(sum_))


@given(st.decimals("0.01", "99999", places=2), st.booleans())
def test_a_sum_comes_back_however_it_is_written(value, comma):
    text = f"{value:,.2f}"
    if comma:
        text = text.translate(str.maketrans(",.", ".,"))
    assert amount(text, comma) == value and has_decimal_comma([text]) == comma


@given(st.text(max_size=20), st.booleans())
def test_no_cell_breaks_it(cell, comma):
    found = amount(cell, comma)
    assert found is None or found >= 0


@pytest.mark.parametrize(
    ("title", "role"),
    [
        ("Article no.", "code"), ("Product code", "code"), ("SKU", "code"), ("Item description", "name"),
        ("Description", "name"), ("Net price £", "price"), ("Price per pack", "price"), ("Per", "per"),
        ("Price unit", "per"), ("Pack", ""), ("Remark", ""),
    ],
)  # fmt: skip
def test_titles_tell_what_a_column_holds(title, role):
    assert guess(title) == role


def test_titles_are_found_below_what_stands_above_them():
    read = read_list("Trade list;;\nValid from 1 Nov;;\nNo.;Name;Price\nA1;Board, acoustic;14,20\n")
    assert read.header == ["No.", "Name", "Price"] and read.rows == [(4, ["A1", "Board, acoustic", "14,20"])]


def test_one_column_is_no_list():
    with pytest.raises(CannotRead, match="Only one column"):
        read_list("just words\nand more")


def test_rows_with_most_words_in_common_are_offered_first():
    read = read_list("Code,Name,Price\nA,Softwood stud 63 x 38,1\nB,Acoustic plasterboard 12.5,2\nC,Plasterboard 9.5,3")
    board = Material(pk=1, name="Acoustic plasterboard 12.5 mm")
    (first, *_) = likely_rows(read, Held(code=0, name=1, price=2), [board])[1]
    assert first == ("B", "Acoustic plasterboard 12.5")


pages = pytest.mark.django_db


@pytest.fixture
def supplier(db):
    return Supplier.objects.create(name="Ashdown Boards")


@pytest.fixture
def board(supplier):
    values = {"supplier": supplier, "supplier_code": "PB 125", "price": Decimal("14.00")}
    return MaterialFactory(name="Dense board 12.5 mm", price_set_on=date(2026, 1, 5), **values)


def read_in(office, supplier, text="", **sent):
    posted = {"supplier": supplier.pk, "pasted": text} | sent
    return office.post(reverse("catalogue:price-list-read"), posted)


LIST = "Code,Description,Price\npb  125,Board dense,14.90\nXX,Something else,3.00\n"


@pages
def test_a_list_is_looked_at_before_anything_changes_and_then_taken_over(office, supplier, board):
    page = office.get(read_in(office, supplier, LIST).url)
    assert "£14.00" in said(page) and "£14.90" in said(page) and "+6 %" in said(page)
    assert "1 row that we do not buy" in said(page)
    board.refresh_from_db()
    assert board.price == Decimal("14.00")
    key = f"{board.pk}:14.00:14.90"
    assert f'value="{key}" checked' in said(page)
    office.post(page.request["PATH_INFO"], {"take": [key]})
    board.refresh_from_db()
    assert board.price == Decimal("14.90") and board.price_set_on > date(2026, 1, 5)
    assert not board.price_is_illustrative
    assert AuditEntry.objects.filter(action="price list taken over").count() == 1


@pages
def test_what_is_not_ticked_stays(office, supplier, board):
    url = read_in(office, supplier, LIST).url
    office.post(url, {})
    board.refresh_from_db()
    assert board.price == Decimal("14.00") and board.price_set_on == date(2026, 1, 5)


@pages
def test_a_price_that_changes_by_much_is_not_ticked(office, supplier, board):
    page = said(office.get(read_in(office, supplier, LIST.replace("14.90", "140.00")).url))
    assert "+900 %" in page and "Look" in page and ":140.00" in page and ':140.00" checked' not in page


@pages
def test_a_price_set_meanwhile_is_not_overwritten(office, supplier, board):
    url = read_in(office, supplier, LIST).url
    Material.objects.filter(pk=board.pk).update(price=Decimal("15.50"))
    page = said(office.post(url, {"take": [f"{board.pk}:14.00:14.90"]}, follow=True))
    board.refresh_from_db()
    assert board.price == Decimal("15.50") and "another price meanwhile" in page


@pages
def test_what_the_list_confirms_is_dated_today(office, supplier, board):
    url = read_in(office, supplier, LIST.replace("14.90", "14.00")).url
    assert "1 as before" in said(office.get(url))
    office.post(url, {})
    board.refresh_from_db()
    assert board.price == Decimal("14.00") and board.price_set_on > date(2026, 1, 5)


@pages
@pytest.mark.parametrize(
    ("rows", "said_"),
    [
        ("PB 125,Board,on request\n", "Row 2, Dense board 12.5 mm: “on request” is no price."),
        ("PB 125,Board,0\n", "expected more than nothing"),
        ("PB 125,Board,\n", "The price is empty."),
        ("PB 125,Board,1.00\nPB 125,Board,2.00\n", "more than once with different prices: rows 2 and 3"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(office, supplier, board, rows, said_):
    page = said(office.get(read_in(office, supplier, "Code,Description,Price\n" + rows).url))
    assert said_ in page and "There the old price stays." in page


@pages
def test_a_price_for_so_many_pieces_becomes_one_for_our_pack(office, supplier, board):
    Material.objects.filter(pk=board.pk).update(pack_quantity=50, price=None)
    url = read_in(office, supplier, "Code;Name;Price;Per\nPB 125;Screw;12,40;100").url
    assert "£6.20" in said(office.get(url)) and "decimal comma" in said(office.get(url))


@pages
def test_columns_are_chosen_where_titles_do_not_tell(office, supplier, board):
    url = read_in(office, supplier, "PB 125,9.00,14.90\nXX,1.00,2.00\n").url
    page = said(office.get(url))
    assert "Say which column holds the price." in page and "Column 3" in page
    assert "£14.90" in said(office.get(url, {"price": "2", "code": "0", "name": "", "per": ""}))
    assert "named twice" in said(office.get(url, {"price": "2", "code": "2", "name": "", "per": ""}))


@pages
def test_a_material_is_matched_to_its_row_once_and_found_from_then_on(office, supplier, board):
    Material.objects.filter(pk=board.pk).update(supplier_code="")
    url = read_in(office, supplier, "Code,Description,Price\nQ7,Board 12.5 dense,14.90\n").url
    assert "Q7: Board 12.5 dense" in said(office.get(url))
    office.post(f"{url}numbers/", {f"code-{board.pk}": "Q7"})
    assert "£14.90" in said(office.get(url))
    board.refresh_from_db()
    assert board.supplier_code == "Q7"


@pages
def test_what_another_supplier_sells_is_not_touched(office, supplier, board):
    other = Supplier.objects.create(name="Brook Timber")
    page = said(office.get(read_in(office, other, LIST).url))
    assert "None of its rows is known" in page and "Dense board" not in page


@pages
def test_a_file_that_is_no_list_is_refused_beside_its_field(office, supplier):
    response = read_in(office, supplier, file=SimpleUploadedFile("list.xls", b"PK\x00\x03\x04\x05\x06"))
    assert response.status_code == 200 and "This is no text" in said(response)
    assert "Choose a file, or paste the cells" in said(read_in(office, supplier))
    assert not PriceList.objects.exists()


@pages
def test_without_a_supplier_the_page_says_what_comes_first(office):
    assert "none is named yet" in said(office.get(reverse("catalogue:price-list-read")))


@pages
def test_the_page_asks_as_often_for_many_materials(office, supplier, board, count_queries):
    url = read_in(office, supplier, LIST).url
    few = count_queries(office, url)
    for n in range(8):
        MaterialFactory(supplier=supplier, supplier_code=f"N{n}", price=1)
    assert count_queries(office, url) == few <= 8
