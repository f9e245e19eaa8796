"""The connection to the broker: a session that lasts, every message taken once it is written, back after any break."""

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import paho.mqtt.client as mqtt
from django.conf import settings
from django.db import DatabaseError, close_old_connections, connection
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

from drystow.errors import InputError
from drystow.web.folder import locked
from drystow.web.kit import records
from drystow.web.readings.live import REFUSED, Arrived, take
from drystow.web.readings.models import Broker
from drystow.web.readings.topics import subscription

PASSWORD = "DRYSTOW_MQTT_PASSWORD"
SHORTEST, LONGEST = 1, 60  # pauses before it connects again [s]; each is twice the one before
ALIVE = 30  # a sign of life at least this often [s]
QOS = 1
LOCK = "listen.lock"
Tell = Callable[[str], None]


@dataclass(frozen=True)
class Address:
    """Where to listen.

    host: name of the computer
    port: of the broker
    tls: encrypted
    user: empty for none
    password: of the user
    topic: pattern of the kitchen
    client: name of the session that the broker keeps
    """

    host: str
    port: int
    tls: bool
    user: str
    password: str
    topic: str
    client: str


def address_of(url: str = "") -> Address:
    """Return where to listen: an address of the command line, else the one of the settings page.

    url: mqtt://user@host:1883 or mqtts://host
    """
    house = Broker.objects.kept().first()
    if house is None and not url:
        raise InputError("--mqtt", "no address yet; save one at Settings, Live readings, or write --mqtt mqtt://HOST")
    if house is None:
        house = records.create(Broker(), who="live")
    password = os.environ.get(PASSWORD, "")
    if not url:
        return Address(house.host, house.port, house.tls, house.user, password, house.topic, house.client)
    parts = urlsplit(url if "://" in url else f"mqtt://{url}")
    try:
        port = parts.port
    except ValueError:
        port = 0
    if parts.scheme not in ("mqtt", "mqtts") or not parts.hostname or port == 0 or parts.path.strip("/"):
        raise InputError("--mqtt", "is no address of a broker; write mqtt://user@host:1883, or mqtts://host")
    if parts.password:
        raise InputError("--mqtt", f"others can read a password on the command line; put it into {PASSWORD}")
    tls = parts.scheme == "mqtts"
    user = unquote(parts.username or "")
    return Address(parts.hostname, port or (8883 if tls else 1883), tls, user, password, house.topic, house.client)


class Listener:
    """Takes messages until it is stopped."""

    def __init__(self, address: Address, tell: Tell) -> None:
        self.address, self.tell = address, tell
        self.counts: dict[str, int] = {}
        self.stopping = self.listening = self.goes_on = False
        self.client = mqtt.Client(
            CallbackAPIVersion.VERSION2,
            client_id=address.client,
            clean_session=False,
            protocol=MQTTProtocolVersion.MQTTv311,
            manual_ack=True,
        )
        if address.user:
            self.client.username_pw_set(address.user, address.password or None)
        if address.tls:
            self.client.tls_set()
        self.client.reconnect_delay_set(SHORTEST, LONGEST)
        self.client.on_connect = self._connected
        self.client.on_connect_fail = self._failed
        self.client.on_disconnect = self._left
        self.client.on_subscribe = self._subscribed
        self.client.on_message = self._came
        self.client.connect_async(address.host, address.port, keepalive=ALIVE)

    def run(self) -> None:
        """Take messages until `stop`; a broker that is away is asked again, in ever longer pauses."""
        self.client.loop_forever(retry_first_connection=True)

    def start(self) -> None:
        """Take messages in a thread of its own."""
        self.client.loop_start()

    def stop(self) -> None:
        """Say goodbye; the broker keeps what comes meanwhile."""
        self.stopping = True
        self.client.disconnect()
        self.client.loop_stop()

    def _connected(self, client: Any, _data: Any, flags: Any, reason: Any, _properties: Any) -> None:
        where = f"{self.address.host}:{self.address.port}"
        if reason.is_failure:
            self.tell(f"The broker at {where} refuses: {reason}. Check user and {PASSWORD}.")
            return
        self.goes_on = flags.session_present
        client.subscribe(subscription(self.address.topic), QOS)

    def _subscribed(self, _client: Any, _data: Any, _number: Any, reasons: Any, _properties: Any) -> None:
        where, topic = f"{self.address.host}:{self.address.port}", subscription(self.address.topic)
        if any(reason.is_failure for reason in reasons):
            self.tell(f"The broker at {where} does not let this user listen to {topic}")
            return
        self.listening = True
        self.tell(f"Listening at {where} to {topic}{' (the session goes on)' if self.goes_on else ''}")

    def _failed(self, _client: Any, _data: Any) -> None:
        self.tell(f"No broker at {self.address.host}:{self.address.port}; trying again")

    def _left(self, _client: Any, _data: Any, _flags: Any, reason: Any, _properties: Any) -> None:
        self.listening = False
        if reason.is_failure:
            self.tell(f"The connection broke ({reason}); connecting again")

    def _came(self, client: Any, _data: Any, message: Any) -> None:
        """Write a message, then tell the broker that it is taken; one that cannot be written comes again later."""
        arrived = Arrived(
            message.topic, bytes(message.payload), time.time_ns() // 1_000_000, bool(message.retain), bool(message.dup)
        )
        outcome = self._take(arrived)
        if outcome:
            self.counts[outcome] = self.counts.get(outcome, 0) + 1
            client.ack(message.mid, message.qos)

    def _take(self, arrived: Arrived) -> str:
        """Return what became of a message; while the database does not answer it is tried again, in longer pauses."""
        pause = float(SHORTEST)
        while not self.stopping:
            try:
                if not connection.in_atomic_block:
                    close_old_connections()
                return take(arrived, self.address.topic)
            except DatabaseError as problem:
                self.tell(f"The database does not answer ({problem}); the message is tried again")
                time.sleep(pause)
                pause = min(2 * pause, float(LONGEST))
            except Exception as problem:  # whatever a sensor sends, the others go on
                self.tell(f"A message to {arrived.topic[:80]!r} could not be read ({type(problem).__name__})")
                return REFUSED
        return ""


@contextmanager
def alone() -> Iterator[None]:
    """Only one listens for a kitchen: two of the same session would throw each other out for ever."""
    path = Path(settings.DATA_FOLDER) / LOCK
    path.touch()
    with locked(path) as mine:
        if not mine:
            raise InputError("listen", "another Drystow listens for this house already; stop that one first")
        yield
