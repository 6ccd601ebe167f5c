from django.urls import path

from chemistry import codes  # noqa: F401 (knows the converter of codes)
from chemistry.views import (
    adapting,
    audit,
    bench,
    consignments,
    containers,
    mixing,
    pouring,
    recipes,
    replenishing,
    stopping,
    waste,
)

app_name = "chemistry"
urlpatterns = [
    path("bench/", bench.overview, name="bench"),
    path("bench/<slug:slug>/", bench.bench_sum, name="bench-sum"),
    path("mix/", mixing.choose, name="mix"),
    path("mix/<slug:code>/", mixing.mix, name="mix-recipe"),
    path("shelf/<code:code>/replenish/", replenishing.replenish, name="batch-replenish"),
    path("shelf/<code:code>/pour/", pouring.pour, name="batch-pour"),
    path("shelf/<code:code>/stop/", stopping.stop, name="batch-stop"),
    path("shelf/<code:code>/release/", stopping.release, name="batch-release"),
    path("waste/", waste.overview, name="waste"),
    path("waste/open/", containers.open_new, name="container-open"),
    path("waste/place/", waste.place, name="waste-place"),
    path("waste/gone/<int:pk>/", consignments.consignment, name="consignment"),
    path("waste/<code:code>/", containers.container, name="container"),
    path("waste/<code:code>/hand-over/", containers.hand_over, name="container-hand-over"),
    path("audit/", audit.report, name="audit"),
    path("audit/entries/", audit.entries, name="audit-entries"),
    path("audit/figures.csv", audit.figures, name="audit-csv"),
    path("recipes/", recipes.overview, name="recipes"),
    path("recipes/<slug:code>/", recipes.recipe, name="recipe"),
    path("processes/<slug:code>/", recipes.process, name="process"),
    path("recipes/<slug:code>/figures/", adapting.figures, name="recipe-figures"),
    path("recipes/<slug:code>/times/", adapting.times, name="recipe-times"),
]
