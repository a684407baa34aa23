from django.urls import path

from contractor.jobs.views import diary, diary_public, enquiry, jobs, programme

app_name = "jobs"

job_urls = [
    path("jobs/", jobs.job_list, name="list"),
    path("jobs/new/", jobs.job_new, name="new"),
    path("jobs/<int:number>/", enquiry.job, name="job"),
    path("jobs/<int:number>/edit/", jobs.job_edit, name="edit"),
    path("jobs/<int:number>/stage/", enquiry.stage, name="stage"),
]
enquiry_urls = [
    path("jobs/<int:number>/noises/new/", enquiry.noise_new, name="noise-new"),
    path("jobs/<int:number>/noises/<int:noise_id>/", enquiry.noise, name="noise"),
    path("jobs/<int:number>/noises/<int:noise_id>/delete/", enquiry.noise_delete, name="noise-delete"),
    path("jobs/<int:number>/gates/<slug:kind>/", enquiry.gate, name="gate"),
    path("jobs/<int:number>/gates/<slug:kind>/paper/", enquiry.gate_paper, name="gate-paper"),
]
heard_urls = [
    path("jobs/<int:number>/heard/", diary.heard, name="heard"),
    path("jobs/<int:number>/heard/links/new/", diary.link_new, name="heard-link-new"),
    path("jobs/<int:number>/heard/take-over/", diary.take_over, name="heard-take-over"),
    path("jobs/<int:number>/heard/<int:entry_id>/delete/", diary.entry_delete, name="heard-delete"),
    path("heard/links/<int:link_id>/revoke/", diary.link_revoke, name="heard-link-revoke"),
    path("d/<str:token>/", diary_public.diary, name="household-diary"),
    path("d/<str:token>/<int:entry_id>/delete/", diary_public.entry_delete, name="household-diary-delete"),
]
programme_urls = [
    path("jobs/<int:number>/programme/", programme.programme, name="programme"),
    path("jobs/<int:number>/programme/visits/new/", programme.visit_new, name="visit-new"),
    path("jobs/<int:number>/programme/visits/<int:visit_id>/", programme.visit, name="visit"),
    path("jobs/<int:number>/programme/visits/<int:visit_id>/delete/", programme.visit_delete, name="visit-delete"),
    path("diary/", programme.diary, name="diary"),
]
urlpatterns = job_urls + enquiry_urls + heard_urls + programme_urls
