"""What the office sets by hand on a quote: lines added, overrides of worked-out lines, discounts, the job's rate of VAT."""

from decimal import Decimal

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.common.files import Paper, discard
from contractor.jobs.models import Job
from contractor.quotes.models import Discount, ExtraLine, LineOverride, VatBasis, VatEvidence
from contractor.quotes.prices import Line
from contractor.rooms.models import Scheme


@transaction.atomic
def extra_line_save(
    *, line: ExtraLine, user: User, vat_paper: Paper | None = None, drop_paper: bool = False
) -> ExtraLine:
    """Save a line added by hand. A new paper takes the place of the one there; without one it stays, unless dropped."""
    is_new = line.pk is None
    _keep_paper(line, vat_paper, drop_paper)
    line.save()
    record(
        user=user,
        action="Line added to quote" if is_new else "Line of quote changed",
        subject=line.job,
        description=line.description,
        quantity=str(line.quantity),
        unit_price=str(line.unit_price),
        vat_percent=str(line.vat_percent),
        is_optional=line.is_optional,
        paper=line.vat_paper_name,
    )
    return line


@transaction.atomic
def extra_line_delete(*, line: ExtraLine, user: User) -> None:
    record(user=user, action="Line taken off quote", subject=line.job, description=line.description)
    discard(line.vat_paper)
    line.delete()


def _keep_paper(row: VatEvidence, paper: Paper | None, drop: bool) -> None:
    if paper or drop:
        discard(row.vat_paper)
        row.vat_paper, row.vat_paper_name = "", ""
    if paper:
        row.vat_paper.save(f"paper.{paper.ending}", paper.as_file, save=False)
        row.vat_paper_name = paper.name


@transaction.atomic
def override_set(
    *, scheme: Scheme, line: Line, quantity: Decimal | None, unit_price: Decimal | None, reason: str, user: User
) -> LineOverride:
    """Set quantity or unit price of a worked-out line, in place of an earlier override of it. `line` is as priced
    today; what it was worked out at is kept beside what it is set to."""
    worked_out = line.before or line
    values = {
        "quantity": None if quantity == worked_out.quantity else quantity,
        "unit_price": None if unit_price == worked_out.unit_price else unit_price,
        "was_quantity": worked_out.quantity,
        "was_unit_price": worked_out.unit_price,
    }
    override, _ = LineOverride.objects.update_or_create(
        scheme=scheme,
        line_key=line.key,
        defaults=values
        | {
            "line_name": ", ".join(filter(None, [line.description, line.where]))[:400],
            "reason": reason,
            "made_by": user,
        },
    )
    told = {name: None if value is None else str(value) for name, value in values.items()}
    record(user=user, action="Line of quote overridden", subject=override, reason=reason, scheme=scheme.name, **told)
    return override


@transaction.atomic
def override_take_back(*, override: LineOverride, user: User) -> None:
    record(user=user, action="Override of a line taken back", subject=override, reason=override.reason)
    override.delete()


@transaction.atomic
def discount_save(*, discount: Discount, user: User) -> Discount:
    discount.made_by = user
    discount.save()
    amount = None if discount.amount is None else str(discount.amount)
    percent = None if discount.percent is None else str(discount.percent)
    record(
        user=user,
        action="Discount set",
        subject=discount.job,
        reason=discount.reason,
        percent=percent,
        amount=amount,
    )
    return discount


@transaction.atomic
def discount_delete(*, discount: Discount, user: User) -> None:
    record(user=user, action="Discount taken back", subject=discount.job, reason=discount.reason)
    discount.delete()


@transaction.atomic
def vat_set(
    *,
    job: Job,
    basis: VatBasis,
    is_standard: bool,
    user: User,
    vat_paper: Paper | None = None,
    drop_paper: bool = False,
) -> None:
    """Keep the rate for the job's worked-out lines with its evidence; the firm's own rate needs no row and no paper."""
    if is_standard:
        for kept in VatBasis.objects.filter(job=job):
            discard(kept.vat_paper)
            kept.delete()
    else:
        basis.job, basis.decided_by = job, user
        _keep_paper(basis, vat_paper, drop_paper)
        basis.save()
    record(
        user=user,
        action="VAT of quote set",
        subject=job,
        vat_percent=str(basis.vat_percent),
        reason=basis.get_vat_reason_display(),
        evidence=basis.vat_evidence,
        paper="" if is_standard else basis.vat_paper_name,
    )
