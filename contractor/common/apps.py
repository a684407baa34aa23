from django.apps import AppConfig


class CommonConfig(AppConfig):
    name = "contractor.common"

    def ready(self) -> None:
        from contractor.common import checks  # noqa: F401  (registers the system checks)
