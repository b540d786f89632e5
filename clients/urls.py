app_name = "clients"
urlpatterns: list = []
