"""Forms of the club's pages: text in, typed values out."""

from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _


class SignInForm(AuthenticationForm):
    """Short name and password. Says no more than that the two do not match."""

    error_messages = {
        "invalid_login": _("This name and password do not match. Capital letters count in the password."),
        "inactive": _("This name and password do not match. Capital letters count in the password."),
    }
