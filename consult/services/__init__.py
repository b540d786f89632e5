"""Every write of consultation and bench."""

from consult.bench.look import Look
from consult.portability.moves import MoveRefused
from consult.services.agreement import (
    ChoiceIncomplete,
    Pick,
    SigningRefused,
    choose,
    needs_guardian,
    sign_off,
)
from consult.services.bench import (
    BowlRefused,
    MarkRefused,
    end_processing,
    mix_bowl,
    note_check,
    start_processing,
)
from consult.services.card_mail import (
    MailRefused,
    agreed_to_mail,
    mail_card,
    settle_mail,
    why_not_mailed,
)
from consult.services.cards import note_slip, record_card
from consult.services.consultation import (
    AnswersMissing,
    ReadingMissing,
    answer_safety,
    read_hair,
)
from consult.services.evidence import anchor_sign_offs
from consult.services.exports import record_results_export
from consult.services.formula import (
    FormulaRefused,
    GateShut,
    PreTestMissing,
    StraysFromSignOff,
    decide_formula,
)
from consult.services.leftover import LeftoverRefused, weigh_leftover
from consult.services.network import drop_draft, keep_draft, note_presence
from consult.services.portability import record_client_export, record_recovery_sheet
from consult.services.preparation import (
    StepRefused,
    record_pre_test,
    record_step,
    take_back_step,
)
from consult.services.reaction import (
    ReactionRefused,
    describe_reaction,
    report_reaction,
    take_back_reaction,
)
from consult.services.receiving import (
    delete_received_record,
    put_back_record,
    receive_record,
    refuse_move,
)
from consult.services.record_moves import ask_move, withdraw_move
from consult.services.result import ResultRefused, see_result, see_results
from consult.services.rinse import RinseRefused, give_rinse_reason, undo_rinse
from consult.services.steps import OutOfOrder, StaleVisit
from consult.services.visits import (
    ClosingRefused,
    OpeningRefused,
    close_visit,
    open_visit,
    stop_visit,
)
from consult.services.wording import WordingRefused, WordingStale, revise_wording
from consult.visit.next_slot import NextSlot

__all__ = [
    "AnswersMissing",
    "BowlRefused",
    "ChoiceIncomplete",
    "ClosingRefused",
    "FormulaRefused",
    "GateShut",
    "LeftoverRefused",
    "Look",
    "MailRefused",
    "MarkRefused",
    "MoveRefused",
    "NextSlot",
    "OpeningRefused",
    "OutOfOrder",
    "Pick",
    "PreTestMissing",
    "ReactionRefused",
    "ReadingMissing",
    "ResultRefused",
    "RinseRefused",
    "SigningRefused",
    "StaleVisit",
    "StepRefused",
    "StraysFromSignOff",
    "WordingRefused",
    "WordingStale",
    "agreed_to_mail",
    "anchor_sign_offs",
    "answer_safety",
    "ask_move",
    "choose",
    "close_visit",
    "decide_formula",
    "delete_received_record",
    "describe_reaction",
    "drop_draft",
    "end_processing",
    "give_rinse_reason",
    "keep_draft",
    "mail_card",
    "mix_bowl",
    "needs_guardian",
    "note_check",
    "note_presence",
    "note_slip",
    "open_visit",
    "put_back_record",
    "read_hair",
    "receive_record",
    "record_card",
    "record_client_export",
    "record_pre_test",
    "record_recovery_sheet",
    "record_results_export",
    "record_step",
    "refuse_move",
    "report_reaction",
    "revise_wording",
    "see_result",
    "see_results",
    "settle_mail",
    "sign_off",
    "start_processing",
    "stop_visit",
    "take_back_reaction",
    "take_back_step",
    "undo_rinse",
    "weigh_leftover",
    "why_not_mailed",
    "withdraw_move",
]
