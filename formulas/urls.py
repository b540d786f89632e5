app_name = "formulas"
urlpatterns: list = []
