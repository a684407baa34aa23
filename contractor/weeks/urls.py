from django.urls import path

from contractor.weeks import views

app_name = "weeks"
urlpatterns = [
    path("week/", views.week, name="week"),
    path("week/<int:visit_id>/move/", views.move, name="move"),
    path("jobs/<int:number>/days/", views.days, name="days"),
    path("me/calendar/", views.calendar, name="calendar"),
    path("calendar/<str:token>/visits.ics", views.feed, name="feed"),
]
