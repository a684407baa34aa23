from django.urls import path

from contractor.catalogue.views import (
    build_ups,
    climates,
    constructions,
    labour,
    materials,
    overview,
    price_lists,
    suppliers,
)

app_name = "catalogue"
material_urls = [
    path("materials/", materials.material_list, name="materials"),
    path("prices/", materials.prices, name="prices"),
    path("prices/read/", price_lists.read, name="price-list-read"),
    path("prices/read/<int:list_id>/", price_lists.price_list, name="price-list"),
    path("prices/read/<int:list_id>/numbers/", price_lists.codes, name="price-list-codes"),
    path("materials/new/", materials.material_new, name="material-new"),
    path("materials/<int:material_id>/", materials.material, name="material"),
    path("materials/<int:material_id>/delete/", materials.material_delete, name="material-delete"),
]
supplier_urls = [
    path("suppliers/", suppliers.supplier_list, name="suppliers"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier-new"),
    path("suppliers/<int:supplier_id>/", suppliers.supplier, name="supplier"),
    path("suppliers/<int:supplier_id>/delete/", suppliers.supplier_delete, name="supplier-delete"),
]
construction_urls = [
    path("constructions/", constructions.construction_list, name="constructions"),
    path("constructions/new/", constructions.construction_new, name="construction-new"),
    path("constructions/<int:construction_id>/", constructions.construction, name="construction"),
    path("constructions/<int:construction_id>/edit/", constructions.construction_edit, name="construction-edit"),
    path("constructions/<int:construction_id>/delete/", constructions.construction_delete, name="construction-delete"),
]
build_up_urls = [
    path("build-ups/", build_ups.build_up_list, name="build-ups"),
    path("build-ups/new/", build_ups.build_up_new, name="build-up-new"),
    path("build-ups/<int:build_up_id>/", build_ups.build_up, name="build-up"),
    path("build-ups/<int:build_up_id>/edit/", build_ups.build_up_edit, name="build-up-edit"),
    path("build-ups/<int:build_up_id>/delete/", build_ups.build_up_delete, name="build-up-delete"),
]
labour_urls = [
    path("labour/", labour.labour, name="labour"),
    path("labour/rates/new/", labour.rate_new, name="labour-rate-new"),
    path("labour/rates/<int:rate_id>/", labour.rate, name="labour-rate"),
    path("labour/rates/<int:rate_id>/delete/", labour.rate_delete, name="labour-rate-delete"),
    path("labour/allowances/new/", labour.allowance_new, name="labour-allowance-new"),
    path("labour/allowances/<int:allowance_id>/", labour.allowance, name="labour-allowance"),
    path("labour/allowances/<int:allowance_id>/delete/", labour.allowance_delete, name="labour-allowance-delete"),
    path("labour/factors/new/", labour.factor_new, name="labour-factor-new"),
    path("labour/factors/<int:factor_id>/", labour.factor, name="labour-factor"),
    path("labour/factors/<int:factor_id>/delete/", labour.factor_delete, name="labour-factor-delete"),
]
climate_urls = [
    path("climates/", climates.climate_list, name="climates"),
    path("climates/new/", climates.climate_new, name="climate-new"),
    path("climates/<int:climate_id>/", climates.climate, name="climate"),
    path("climates/<int:climate_id>/use/", climates.climate_use, name="climate-use"),
    path("climates/<int:climate_id>/delete/", climates.climate_delete, name="climate-delete"),
]
urlpatterns = [
    path("", overview.overview, name="overview"),
    *material_urls,
    *supplier_urls,
    *construction_urls,
    *build_up_urls,
    *labour_urls,
    *climate_urls,
]
