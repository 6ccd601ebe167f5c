from datetime import datetime, timedelta
from smtplib import SMTPServerDisconnected

import pytest
from django.core import mail as outbox
from django.core.mail.backends.locmem import EmailBackend

from darkroom.models import Member
from sessions import mail, tasks
from sessions.models import Notice
from sessions.models.notices import NoticeKind
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


def notice(member: Member, key: str = "fact", created_at: datetime = NOW) -> Notice:
    return Notice.objects.create(
        member=member,
        kind=NoticeKind.BATCH_BAD,
        fact_key=key,
        subject=f"F-3: {key}",
        body="Do not use it.",
        url="/shelf/F-3/",
        created_at=created_at,
    )


def test_each_notice_is_mailed_once_to_its_member(ada: Member, ben: Member) -> None:
    notice(ada), notice(ben)

    assert (mail.send_due(at=NOW), mail.send_due(at=NOW)) == (2, 0)
    assert [message.to for message in outbox.outbox] == [[ada.email], [ben.email]]
    assert Notice.objects.filter(mailed_at=NOW).count() == 2


def test_a_mail_sent_again_has_the_same_message_id(ada: Member) -> None:
    one = notice(ada)
    mail.send_due(at=NOW)
    Notice.objects.update(mailed_at=None)

    mail.send_due(at=NOW)

    ids = {message.message()["Message-ID"] for message in outbox.outbox}
    assert (len(outbox.outbox), ids) == (2, {f"<{one.message_id}@localhost>"})


def test_a_mail_that_fails_waits_and_holds_up_no_other(
    ada: Member, ben: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    notice(ada), notice(ben)
    deliver = EmailBackend.send_messages

    def fail_for_ada(self: EmailBackend, messages: list[outbox.EmailMessage]) -> int:
        if messages[0].to == [ada.email]:
            raise SMTPServerDisconnected
        return deliver(self, messages)

    monkeypatch.setattr(EmailBackend, "send_messages", fail_for_ada)
    assert mail.send_due(at=NOW) == 1
    monkeypatch.undo()
    assert mail.send_due(at=NOW) == 1
    assert [message.to for message in outbox.outbox] == [[ben.email], [ada.email]]


def test_what_is_too_old_to_be_news_is_not_mailed(ada: Member) -> None:
    notice(ada, created_at=NOW - mail.STALE_AFTER)
    notice(ada, "fresh", created_at=NOW - mail.STALE_AFTER + timedelta(seconds=1))

    assert mail.send_due(at=NOW) == 1


def test_who_has_left_gets_no_mail(ada: Member) -> None:
    notice(ada)
    Member.objects.update(is_active=False)

    assert mail.send_due(at=NOW) == 0


def test_the_subject_is_one_line(ada: Member) -> None:
    one = notice(ada)
    one.subject = "F-3:\r\nBcc: everybody@house.example"

    assert mail.message_for(one).message()["Subject"] == (
        "Our darkroom: F-3: Bcc: everybody@house.example"
    )


def test_the_address_of_the_page_stands_in_the_mail_of_a_house_with_one(
    ada: Member, settings: object
) -> None:
    settings.ORIGIN = "https://wet.example"

    assert "https://wet.example/shelf/F-3/" in mail.message_for(notice(ada)).body


def test_the_workers_tasks_run(ada: Member) -> None:
    notice(ada, created_at=datetime.now(NOW.tzinfo))

    tasks.send_notices(timestamp=0)
    tasks.look_out(timestamp=0)

    assert Notice.objects.filter(mailed_at=None).count() == 0
