app_name = "jobs"
urlpatterns = []
