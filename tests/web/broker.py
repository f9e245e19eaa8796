"""A real MQTT broker of this computer, on a free port, with what it must not lose in a folder of the test."""

import shutil
import socket
import subprocess
from collections.abc import Callable
from pathlib import Path
from threading import Thread

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from drystow.web.readings.listener import Listener
from tests.patience import PATIENCE, until


class Mosquitto:
    """Starts, stops and starts again."""

    def __init__(self, folder: Path, *, user: str = "", password: str = "") -> None:
        program = shutil.which("mosquitto") or shutil.which("/usr/sbin/mosquitto")
        if program is None:
            pytest.fail("The tests of live readings need a broker: apt-get install mosquitto", pytrace=False)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        lines = [f"listener {self.port} 127.0.0.1", "persistence true", f"persistence_location {folder}/", "user root"]
        lines.append("allow_anonymous false" if user else "allow_anonymous true")
        if user:
            passwords = folder / "passwords"
            subprocess.run(["mosquitto_passwd", "-b", "-c", str(passwords), user, password], check=True)
            lines.append(f"password_file {passwords}")
        self.config = folder / "mosquitto.conf"
        self.config.write_text("\n".join(lines) + "\n")
        self.command = [program, "-c", str(self.config)]
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Return when it answers."""
        self.process = subprocess.Popen(self.command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        until(lambda: self._answers())

    def stop(self) -> None:
        """Stop it as the system does; it writes down what it keeps."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(PATIENCE)
            self.process = None

    def _answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0


class Sensor:
    """Sends to the broker and waits until the broker has it."""

    def __init__(self, port: int) -> None:
        self.client = mqtt.Client(CallbackAPIVersion.VERSION2)
        self.client.connect_async("127.0.0.1", port)
        self.client.reconnect_delay_set(1, 2)
        self.taken: set[int] = set()
        self.client.on_publish = lambda _client, _data, number, *_more: self.taken.add(number)
        self.client.loop_start()
        until(self.client.is_connected)

    def send(self, topic: str, payload: str | bytes, *, retain: bool = False) -> None:
        """Publish with QoS 1; what is sent while the broker is away waits here until it is back."""
        number = self.client.publish(topic, payload, qos=1, retain=retain).mid
        until(lambda: number in self.taken)

    def close(self) -> None:
        """Say goodbye."""
        self.client.disconnect()
        self.client.loop_stop()


def listen_while(listener: Listener, act: Callable[[], None], *, messages: int) -> None:
    """Listen in this thread, which has the database, while another thread acts, until so many messages came."""
    problems: list[BaseException] = []

    def work() -> None:
        try:
            until(lambda: listener.listening)
            act()
            until(lambda: sum(listener.counts.values()) >= messages)
        except BaseException as problem:
            problems.append(problem)
        finally:
            listener.stopping = True
            listener.client.disconnect()

    thread = Thread(target=work)
    thread.start()
    listener.run()
    thread.join(PATIENCE)
    listener.stopping = False
    if problems:
        raise problems[0]
