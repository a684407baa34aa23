from django.apps import AppConfig


class RoomsConfig(AppConfig):
    name = "contractor.rooms"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.jobs.cautions import add_reasons
        from contractor.jobs.thread import Step, add_step
        from contractor.rooms import photo_files  # noqa: F401  (connects its receiver)
        from contractor.rooms.gate_reasons import gate_reasons
        from contractor.rooms.selectors import survey_state
        from contractor.rooms.selectors_schemes import treatment_state

        add_step(Step(key="survey", label="Survey", order=20, url_name="rooms:survey", look=survey_state))
        add_step(Step(key="treatment", label="Treatment", order=30, url_name="rooms:schemes", look=treatment_state))
        add_reasons(gate_reasons)
