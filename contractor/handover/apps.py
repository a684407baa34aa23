from django.apps import AppConfig


class HandoverConfig(AppConfig):
    name = "contractor.handover"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.handover.steps import add_steps  # models are not loaded before this

        add_steps()
