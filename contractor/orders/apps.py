from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "contractor.orders"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.orders.acting import add_acts  # models are not loaded before this
        from contractor.orders.steps import add_steps

        add_acts()
        add_steps()
