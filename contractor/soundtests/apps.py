from django.apps import AppConfig


class SoundTestsConfig(AppConfig):
    name = "contractor.soundtests"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.soundtests.steps import add_steps  # models are not loaded before this

        add_steps()
