from django.apps import AppConfig


class CatalogueConfig(AppConfig):
    name = "contractor.catalogue"
    default_auto_field = "django.db.models.BigAutoField"
