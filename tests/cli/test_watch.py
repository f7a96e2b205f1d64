"""Notifications of a watch, where the desktop shows them and where it cannot."""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from typing import Any

import pytest

pytest.importorskip("desktop_notifier")
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the test has a desktop of its own by D-Bus")
TWICE = """
from pathlib import Path
from delivery.cli import watch
from delivery.model.finding import Result
from delivery.model.release_state import ReleaseState, Row
state = ReleaseState(Path("release.yaml"), "Low Water", Result.NOT_READY, to_settle=("1: no ISRC",))
tell = watch._notifier()
tell(Row(state, ""))
tell(Row(state, "", gone=True))
"""


DESKTOP = """<node><interface name="org.freedesktop.Notifications">
<method name="Notify"><arg direction="in" type="s"/><arg direction="in" type="u"/><arg direction="in" type="s"/>
<arg direction="in" type="s"/><arg direction="in" type="s"/><arg direction="in" type="as"/>
<arg direction="in" type="a{sv}"/><arg direction="in" type="i"/><arg direction="out" type="u"/></method>
<method name="CloseNotification"><arg direction="in" type="u"/></method>
<method name="GetCapabilities"><arg direction="out" type="as"/></method>
<method name="GetServerInformation"><arg direction="out" type="s"/><arg direction="out" type="s"/>
<arg direction="out" type="s"/><arg direction="out" type="s"/></method>
<signal name="NotificationClosed"><arg type="u"/><arg type="u"/></signal>
<signal name="ActionInvoked"><arg type="u"/><arg type="s"/></signal>
</interface></node>"""


def told_twice(bus: str) -> str:
    """What a process of its own prints on standard error."""
    env = {**os.environ, "DBUS_SESSION_BUS_ADDRESS": bus}
    done = subprocess.run([sys.executable, "-c", TWICE], env=env, capture_output=True, text=True, check=True)
    return done.stderr


@pytest.fixture
def bus() -> Iterator[str]:
    if shutil.which("dbus-daemon") is None:
        pytest.skip("dbus-daemon is not installed")
    command = ["dbus-daemon", "--session", "--nofork", "--print-address"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    yield process.stdout.readline().strip()
    process.kill()
    process.wait()
    process.stdout.close()


def test_shown_by_the_desktop(bus: str) -> None:
    """By the calls of the Desktop Notifications Specification; this test takes the place of the desktop."""
    from dbus_fast import Message, MessageType
    from dbus_fast.aio import MessageBus

    answers: dict[str, tuple[str, list[Any]]] = {
        "Introspect": ("s", [DESKTOP]),
        "Notify": ("u", [1]),
        "GetCapabilities": ("as", [["body"]]),
        "GetServerInformation": ("ssss", ["test", "test", "1", "1.2"]),
    }
    shown: list[tuple[str, str, str]] = []
    ready, done = threading.Event(), threading.Event()

    def answer(message: Message) -> Message | None:
        if message.message_type is not MessageType.METHOD_CALL or message.member not in answers:
            return None
        if message.member == "Notify":
            app, _, _, title, body, *_ = message.body
            shown.append((app, title, body))
        return Message.new_method_return(message, *answers[message.member])

    async def serve() -> None:
        connection = await MessageBus(bus_address=bus).connect()
        connection.add_message_handler(answer)
        await connection.request_name("org.freedesktop.Notifications")
        ready.set()
        while not done.is_set():
            await asyncio.sleep(0.05)
        connection.disconnect()

    thread = threading.Thread(target=asyncio.run, args=(serve(),))
    thread.start()
    try:
        assert ready.wait(30)
        assert told_twice(bus) == ""
    finally:
        done.set()
        thread.join(10)
    assert shown == [("delivery", "Low Water", "1 to settle"), ("delivery", "Low Water", "gone")]


def test_a_desktop_without_notifications_is_reported_once() -> None:
    err = told_twice("unix:path=/nowhere")
    assert err.startswith("No notifications: ")
    assert err.count("No notifications: ") == 1
    assert "Traceback" not in err
