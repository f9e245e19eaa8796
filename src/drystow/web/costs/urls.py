"""Address of the costs."""

from django.urls import path

from drystow.web.costs.views import show_costs

urlpatterns = [path("costs/", show_costs, name="costs")]
