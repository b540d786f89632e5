"""The bench's table of contents."""

from django.urls import path

from consult.views import (
    agreement,
    bench,
    client_view,
    consultation,
    formula,
    network,
    papers,
    preparation,
    records,
    result,
    today,
)

app_name = "consult"
urlpatterns = [
    path("today/", today.today, name="today"),
    path("appointments/<int:pk>/visit/", today.open_visit, name="open"),
    path("visits/<int:pk>/", consultation.visit, name="visit"),
    path("visits/<int:pk>/stop/", result.stop, name="stop"),
    path("visits/<int:pk>/safety/", consultation.safety, name="safety"),
    path("visits/<int:pk>/hair/", consultation.hair, name="hair"),
    path("visits/<int:pk>/tests/", preparation.pre_tests, name="pre_tests"),
    path("visits/<int:pk>/steps/", preparation.steps, name="steps"),
    path("visits/<int:pk>/steps/<int:step>/", preparation.correct_step, name="correct_step"),
    path(
        "visits/<int:pk>/steps/<int:step>/take-back/",
        preparation.take_back_step,
        name="take_back_step",
    ),
    path("visits/<int:pk>/choice/", agreement.choice, name="choice"),
    path("visits/<int:pk>/sign/", agreement.sign, name="sign"),
    path("visits/<int:pk>/client/", client_view.hand_over, name="hand_over"),
    path("visits/<int:pk>/client/choice/", client_view.choice, name="client_choice"),
    path("visits/<int:pk>/client/sign/", client_view.sign, name="client_sign"),
    path("visits/<int:pk>/client/done/", client_view.done, name="client_done"),
    path("visits/<int:pk>/client/leave/", client_view.leave, name="leave_client_view"),
    path("visits/<int:pk>/formula/", formula.formula, name="formula"),
    path("visits/<int:pk>/formula/prediction/", formula.prediction, name="prediction"),
    path("visits/<int:pk>/bench/", bench.bench, name="bench"),
    path("visits/<int:pk>/bench/rescale/", bench.rescale, name="rescale"),
    path("visits/<int:pk>/bench/<int:bowl>/start/", bench.start, name="start"),
    path("visits/<int:pk>/bench/<int:bowl>/end/", bench.end, name="end"),
    path("visits/<int:pk>/bench/<int:bowl>/check/", bench.check, name="check"),
    path("visits/<int:pk>/result/", result.result, name="result"),
    path("visits/<int:pk>/card/", result.card, name="card"),
    path("visits/<int:pk>/card.pdf", papers.card_pdf, name="card_pdf"),
    path("visits/<int:pk>/bench-card.pdf", papers.bench_card, name="bench_card"),
    path("visits/<int:pk>/sign-off/<int:signed>.pdf", papers.sign_off_pdf, name="sign_off_pdf"),
    path("visits/<int:pk>/draft/", network.draft, name="draft"),
    path("visits/<int:pk>/draft/drop/", network.drop, name="drop_draft"),
    path("visits/<int:pk>/here/", network.here, name="here"),
    path("clients/<int:pk>/tones/", records.tones, name="tones"),
    path("histories/", records.histories, name="histories"),
]
