from django.apps import AppConfig


class FittingConfig(AppConfig):
    name = "contractor.fitting"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.fitting import listeners  # noqa: F401  (connects them)
        from contractor.fitting.acting import add_acts  # models are not loaded before this
        from contractor.fitting.acting_cuts import add_cut_acts
        from contractor.fitting.steps import add_steps

        add_acts()
        add_cut_acts()
        add_steps()
