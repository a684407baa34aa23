from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "contractor.jobs"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.jobs.steps import add_steps  # models are not loaded before this

        add_steps()
