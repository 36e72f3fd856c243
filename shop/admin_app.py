"""Puts the house's own administration site in the place of Django's."""

from django.contrib.admin.apps import AdminConfig


class OwnersAdminConfig(AdminConfig):
    """The administration, open to owners."""

    default_site = "shop.admin_site.OwnersSite"
