app_name = "consult"
urlpatterns: list = []
