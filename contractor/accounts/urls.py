from django.urls import path, re_path

from contractor.accounts import views

app_name = "accounts"
urlpatterns = [
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", views.SignOut.as_view(), name="sign-out"),
    path("me/", views.me, name="me"),
    path("firm/", views.firm, name="firm"),
    path("firm/logo/", views.firm_logo, name="firm-logo"),
    re_path(r"^logo/(?P<digest>[0-9a-f]{64})\.png$", views.logo, name="logo"),
    path("firm/people/", views.people, name="people"),
    path("firm/people/new/", views.person_new, name="person-new"),
    path("firm/people/<int:person_id>/", views.person, name="person"),
    path("firm/people/<int:person_id>/password/", views.person_password, name="person-password"),
    path("firm/record/", views.record_page, name="record"),
]
