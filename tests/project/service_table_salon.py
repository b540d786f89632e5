"""The ground floor's part of the table of services."""

from salon.access import DESK, OWNER
from salon.passkeys.ceremony import Registered
from tests.project.service_row import Row, own

SALON = {
    "add_member": own(OWNER, password="x" * 14),
    "change_salon": own(OWNER, name="Corner House"),
    "change_member": Row(OWNER, lambda w: {"member": w.stylist}),
    "change_password": own(DESK, password="x" * 15),
    "reset_password": Row(OWNER, lambda w: {"member": w.stylist}),
    "end_session": own(DESK, session_key="x"),
    "set_up_second_factor": own(DESK, secret=b"x" * 20, code="000000"),
    "begin_recovery_codes": own(DESK),
    "add_passkey": own(DESK, name="x", registered=Registered("a", "b", "c", 0)),
    "rename_passkey": own(DESK, pk=0, name="x"),
    "remove_passkey": own(DESK, pk=0),
    "renew_recovery_codes": own(DESK),
    "turn_off_second_factor": own(DESK),
    "remove_second_factor_of": Row(OWNER, lambda w: {"member": w.stylist}),
    "record_sign_in": own(DESK),
    "ask_for_file": own(OWNER, kind="clients_csv", arguments={}),
    "cancel_file": Row(frozenset(), lambda w: {"file": w.file}),
    "ask_again": Row(frozenset(), lambda w: {"file": w.file}),
    "fetch_file": Row(frozenset(), lambda w: {"file": w.file}),
    "choose_language": own(DESK, language="de"),
    "confirm_by_pin": own(DESK, staff_id=0, pin="739164"),
    "enrol_device": own(OWNER, name="tablet"),
    "put_first_steps_away": own(OWNER),
    "set_logo": own(OWNER, content=b"x"),
    "remove_logo": own(OWNER),
    "decline_first_step": own(OWNER, step="tablets"),
    "remove_pin": own(DESK),
    "remove_pin_of": Row(OWNER, lambda w: {"member": w.stylist}),
    "revise_policy": own(OWNER),
    "revoke_device": Row(OWNER, lambda w: {"device": w.device}),
    "record_screen_check": Row(OWNER, lambda w: {"device": w.device, "verdict": "trusted"}),
    "set_pin": own(DESK, pin="739164"),
    "try_own_pin": own(DESK, pin="739164"),
    "speak_to_clients": own(OWNER, language="de"),
}
