from django.urls import path

from contractor.weeks import views

app_name = "weeks"
urlpatterns = [
    path("week/", views.week, name="week"),
    path("week/<int:visit_id>/move/", views.move, name="move"),
    path("week/days-off/", views.days_off, name="days-off"),
    path("week/days-off/bank-holidays/", views.bank_holidays, name="bank-holidays"),
    path("week/days-off/<int:day_off_id>/", views.day_off, name="day-off"),
    path("week/days-off/<int:day_off_id>/delete/", views.day_off_delete, name="day-off-delete"),
    path("jobs/<int:number>/days/", views.days, name="days"),
    path("me/calendar/", views.calendar, name="calendar"),
    path("calendar/<str:token>/visits.ics", views.feed, name="feed"),
]
