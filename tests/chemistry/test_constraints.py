"""What the database itself refuses, whoever writes: one way past the code for every check."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import IntegrityError, models

from chemistry.accounts import boundary
from chemistry.models import (
    Account,
    AccountKind,
    Batch,
    BatchStop,
    Consignment,
    Figure,
    Hazard,
    Ingredient,
    LedgerHead,
    Movement,
    ProcessFigure,
    ProcessStep,
    Role,
    TimePoint,
    TimeRow,
    Use,
    WasteContainer,
    WayOfUse,
)
from tests.factories.chemistry import (
    TESTED,
    FigureFactory,
    ProcessFactory,
    ProcessStepFactory,
    RecipeVersionFactory,
    TimePointFactory,
    TimeRowFactory,
    mixed_batch,
    opened_container,
    reused_way,
    stock_way,
)
from tests.factories.darkroom import NOW, MemberFactory

pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(seconds=1)


def changed(make, model, **values):
    """A row as it should be, then changed past the code."""
    return lambda: model.objects.filter(pk=make().pk).update(**values)


def stopped(**values):
    def act():
        BatchStop.objects.create(
            **{
                "batch": mixed_batch(),
                "seen": "Cloudy",
                "stopped_at": NOW,
                "stopped_by": MemberFactory(),
            }
            | values
        )

    return act


def used(**values):
    def act():
        Use.objects.create(
            **{
                "batch": mixed_batch(),
                "material": "film",
                "area_mm2": 1,
                "happened_at": NOW,
                "entered_at": NOW,
                "by": MemberFactory(),
                "operation": uuid4(),
            }
            | values
        )

    return act


def moved(quantity=1, happened_at=NOW, to_itself=False):
    def act():
        source, target = boundary(AccountKind.SUPPLY), boundary(AccountKind.LOSS)
        Movement.objects.create(
            operation=uuid4(),
            happened_at=happened_at,
            entered_at=NOW,
            source=source,
            target=source if to_itself else target,
            quantity=quantity,
            method="measured",
            kind="correct",
        )

    return act


def consigned(**values):
    def act():
        Consignment.objects.create(
            **{
                "carrier": "A carrier",
                "document": "N-17",
                "handed_over_at": NOW,
                "entered_at": NOW,
                "by": MemberFactory(),
                "operation": uuid4(),
            }
            | values
        )

    return act


def listed(**values):
    def act():
        Ingredient.objects.create(
            **{
                "version": RecipeVersionFactory(),
                "order": 1,
                "name": "borax",
                "amount": 2,
                "unit": "g",
                "source": TESTED,
                "standing": "computed",
            }
            | values
        )

    return act


def warned(**values):
    def act():
        Hazard.objects.create(
            **{
                "version": RecipeVersionFactory(),
                "form": "working",
                "signal": "warning",
                "protection": ["gloves"],
                "source": TESTED,
                "standing": "computed",
            }
            | values
        )

    return act


def published(**values):
    def act():
        ProcessFigure.objects.create(
            **{
                "process": ProcessFactory(),
                "order": 1,
                "bath": "Bleach",
                "name": "pH",
                "value": 5,
                "unit": "pH",
                "source": TESTED,
                "standing": "computed",
            }
            | values
        )

    return act


def bottle_account():
    return mixed_batch().account


def container_account():
    return opened_container().account


BYPASSES = [
    ("batch_full_positive", changed(mixed_batch, Batch, full_ul=0)),
    ("batch_cache_not_negative", changed(mixed_batch, Batch, wear=-1)),
    ("batch_cache_not_negative", changed(mixed_batch, Batch, arrears_mm2=-1)),
    ("batch_cache_not_negative", changed(mixed_batch, Batch, turnover=-1)),
    ("batch_cache_not_negative", changed(mixed_batch, Batch, used_mm2=-1)),
    (
        "batch_good_after_mixing",
        changed(mixed_batch, Batch, mixed_at=NOW, good_until=NOW - timedelta(seconds=1)),
    ),
    ("batchstop_says_what_was_seen", stopped(seen="")),
    ("batchstop_released_with_reason", stopped(released_at=NOW)),
    ("batchstop_released_with_reason", stopped(release_reason="Tested")),
    ("use_area_positive", used(area_mm2=0)),
    ("use_not_in_the_future", used(happened_at=LATER)),
    ("account_vessel_holds_what_it_can", changed(bottle_account, Account, balance=-1)),
    ("account_vessel_holds_what_it_can", changed(bottle_account, Account, balance=1_000_001)),
    ("account_vessel_holds_what_it_can", changed(container_account, Account, balance=10**10)),
    ("account_subject_fits_kind", lambda: Account.objects.create(kind="batch")),
    ("account_subject_fits_kind", lambda: Account.objects.create(kind="container")),
    (
        "account_subject_fits_kind",
        lambda: Account.objects.create(kind="loss", batch=bare_batch()),
    ),
    ("account_unit_known", lambda: Account.objects.create(kind="loss", unit="ml")),
    ("movement_quantity_positive", moved(quantity=0)),
    ("movement_quantity_positive", moved(quantity=-1)),
    ("movement_goes_somewhere", moved(to_itself=True)),
    ("movement_not_in_the_future", moved(happened_at=LATER)),
    ("ledgerhead_one_row", lambda: LedgerHead.objects.create(id=2, hash="0" * 64)),
    ("processstep_minutes_positive", changed(ProcessStepFactory, ProcessStep, minutes=0)),
    (
        "processstep_only_developers_are_timed_by_row",
        changed(ProcessStepFactory, ProcessStep, minutes=None),
    ),
    ("timerow_sensible", changed(TimeRowFactory, TimeRow, index=0)),
    ("timerow_sensible", changed(TimeRowFactory, TimeRow, dilution_n=-1)),
    ("timepoint_minutes_positive", changed(TimePointFactory, TimePoint, minutes=0)),
    ("wayofuse_only_stock_is_drawn", changed(reused_way, WayOfUse, draw_n=9)),
    ("wayofuse_only_stock_is_drawn", changed(stock_way, WayOfUse, draw_n=None)),
    ("wayofuse_dilution_not_negative", changed(reused_way, WayOfUse, mix_n=-1)),
    ("wayofuse_dilution_not_negative", changed(stock_way, WayOfUse, draw_n=-1)),
    ("figure_not_negative", changed(FigureFactory, Figure, value=-1)),
    ("figure_names_its_source", changed(FigureFactory, Figure, source="")),
    ("figure_uncertain_has_no_value", changed(FigureFactory, Figure, standing="remembered-low")),
    ("ingredient_positive", listed(amount=0)),
    ("ingredient_names_its_source", listed(source="")),
    ("ingredient_uncertain_has_no_amount", listed(standing="remembered-low")),
    ("hazard_names_its_source", warned(source="")),
    ("hazard_names_protection", warned(protection=[])),
    ("processfigure_names_its_source", published(source="")),
    ("processfigure_uncertain_has_no_value", published(standing="remembered-low")),
    ("consignment_names_its_papers", consigned(carrier="")),
    ("consignment_names_its_papers", consigned(document="")),
    ("consignment_not_in_the_future", consigned(handed_over_at=LATER)),
    (
        "wastecontainer_capacity_positive",
        changed(opened_container, WasteContainer, capacity_ul=0),
    ),
    (
        "wastecontainer_fill_limit_sensible",
        changed(opened_container, WasteContainer, fill_limit_pct=0),
    ),
    (
        "wastecontainer_fill_limit_sensible",
        changed(opened_container, WasteContainer, fill_limit_pct=101),
    ),
]


def bare_batch():
    return Batch.objects.create(
        code="X-1",
        way=reused_way(Role.FIXER),
        stream="fixer",
        full_ul=1,
        mixed_at=NOW,
        usable_from=NOW,
    )


@pytest.mark.parametrize(("name", "act"), BYPASSES)
def test_database_refuses(name, act):
    with pytest.raises(IntegrityError) as info:
        act()

    assert info.value.__cause__.diag.constraint_name == name


def test_every_check_is_tried():
    checks = {
        constraint.name
        for model in apps.get_app_config("chemistry").get_models()
        for constraint in model._meta.constraints
        if isinstance(constraint, models.CheckConstraint)
    }

    assert {name for name, _ in BYPASSES} == checks


def test_bottle_is_stopped_once_at_a_time():
    batch = mixed_batch()
    stopped(batch=batch)()

    with pytest.raises(IntegrityError) as info:
        stopped(batch=batch)()
    assert info.value.__cause__.diag.constraint_name == "batchstop_one_open"


def test_house_has_one_account_of_a_kind_and_stream():
    boundary(AccountKind.LOSS)

    with pytest.raises(IntegrityError) as info:
        Account.objects.create(kind="loss")
    assert info.value.__cause__.diag.constraint_name == "account_boundary_once"
