from django.apps import AppConfig


class SiteConfig(AppConfig):
    name = "contractor.site"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.site.kinds import add_own_kinds  # models are not loaded before this

        add_own_kinds()
