"""The ground floor's own pages."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LogoutView
from django.urls import path

from salon import beginners, home_screen, logo, sign_in, views
from salon.files import views as files
from salon.linked_salons import views as linked_salons
from salon.passkeys import views as passkeys
from salon.reset_by_mail import views as reset_by_mail
from salon.second_factor import views as second_factor
from salon.tablet import views as tablet
from salon.work import views as work

app_name = "salon"
urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", sign_in.SignIn.as_view(), name="sign_in"),
    path(
        "sign-out/",
        login_not_required(LogoutView.as_view(next_page="salon:sign_in")),
        name="sign_out",
    ),
    path("language/", views.language, name="language"),
    path("manifest.webmanifest", home_screen.manifest, name="manifest"),
    path("service-worker.js", home_screen.service_worker, name="service_worker"),
    path("offline/", home_screen.offline, name="offline"),
    path("trust/", home_screen.trust, name="trust"),
    path("locked/", tablet.locked, name="locked"),
    path("lock/", tablet.lock, name="lock"),
    path("awake/", tablet.awake, name="awake"),
    path("switch/", tablet.switch, name="switch"),
    path("sign-in/forgot/", reset_by_mail.Forgotten.as_view(), name="forgot_password"),
    path(
        "sign-in/new/<str:uidb64>/<str:token>/",
        reset_by_mail.NewPassword.as_view(),
        name="new_password",
    ),
    path("sign-in/code/", second_factor.second_step, name="second_step"),
    path("sign-in/passkey/", passkeys.sign_in, name="passkey_sign_in"),
    path("sign-in/passkey/options/", passkeys.options, name="passkey_options"),
    path("account/", views.account, name="account"),
    path("account/second-factor/", second_factor.second_factor, name="second_factor"),
    path("account/second-factor/codes/", second_factor.recovery_codes, name="recovery_codes"),
    path("account/second-factor/other/", second_factor.replace, name="replace_second_factor"),
    path("account/second-factor/off/", second_factor.turn_off, name="turn_off_second_factor"),
    path("account/passkeys/new/", passkeys.add, name="add_passkey"),
    path("account/passkeys/new/begin/", passkeys.begin, name="begin_passkey"),
    path("account/passkeys/new/options/", passkeys.creation, name="passkey_creation"),
    path("account/passkeys/<int:pk>/name/", passkeys.rename, name="rename_passkey"),
    path("account/passkeys/<int:pk>/remove/", passkeys.remove, name="remove_passkey"),
    path("account/salons/", linked_salons.linked_salons, name="linked_salons"),
    path("account/salons/<int:pk>/", linked_salons.change_salon, name="change_salon"),
    path("account/salons/<int:pk>/remove/", linked_salons.unlink, name="unlink_salon"),
    path("account/sessions/end/", views.end_session, name="end_session"),
    path("your-pin/", tablet.own_pin, name="own_pin"),
    path("your-pin/remove/", tablet.remove_pin, name="remove_pin"),
    path("salon/devices/", tablet.devices, name="devices"),
    path("salon/devices/enrol/", tablet.enrol_device, name="enrol_device"),
    path("salon/devices/<int:pk>/revoke/", tablet.revoke_device, name="revoke_device"),
    path("glossary/", beginners.glossary, name="glossary"),
    path("salon/", views.house, name="house"),
    path("salon/logo.jpg", logo.picture, name="logo"),
    path("salon/details/", views.details, name="details"),
    path("salon/team/new/", views.add_member, name="add_member"),
    path("salon/team/<int:pk>/", views.change_member, name="change_member"),
    path("salon/team/<int:pk>/password/", views.reset_password, name="reset_password"),
    path("salon/team/<int:pk>/pin/remove/", tablet.remove_member_pin, name="remove_member_pin"),
    path(
        "salon/team/<int:pk>/second-factor/remove/",
        second_factor.remove_of_member,
        name="remove_second_factor",
    ),
    path("salon/client-language/", views.client_language, name="client_language"),
    path("salon/policy/", views.policy, name="policy"),
    path("salon/files/", files.files, name="files"),
    path("salon/files/<int:pk>/", files.fetch, name="fetch_file"),
    path("salon/files/<int:pk>/cancel/", files.cancel, name="cancel_file"),
    path("salon/files/<int:pk>/again/", files.again, name="file_again"),
    path("salon/work/test-mail/", work.test_mail, name="test_mail"),
    path("salon/work/", work.work, name="work"),
    path("salon/record-of-changes/", views.record_of_changes, name="record_of_changes"),
]
