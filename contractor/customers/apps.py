from django.apps import AppConfig


class CustomersConfig(AppConfig):
    name = "contractor.customers"
    default_auto_field = "django.db.models.BigAutoField"
