"""Makes a job active at the station s0 before a bench: starts overwire on the bench's settings, asks for wires, a job
and tags as the page does, and ends it. Usage: active_job.py SETTINGS PORT"""
import json
import subprocess
import sys
import time
import urllib.request

settings, port = sys.argv[1:]
ASKED = [
    ("/api/wire-sets", {"wire_set": "WS-20", "unit": "in", "diameters": ["0.02887"], "by": "bench"}),
    ("/api/jobs", {"job": "J-1", "by": "bench",
                   "features": [{"name": "end", "thread": "1/2-20 UNF-2A", "wire_set": "WS-20"}]}),
    ("/api/stations/s0/tags", {"job": "J-1", "purpose": "inspecting"}),
]


def ask(path, body):
    question = urllib.request.Request(
        f"http://127.0.0.1:{port}{path}", json.dumps(body).encode(), {"content-type": "application/json"})
    urllib.request.urlopen(question, timeout=5).read()


daemon = subprocess.Popen(["overwire", "run", "--settings", settings], stderr=subprocess.DEVNULL)
try:
    for attempt in range(100):
        try:
            ask(*ASKED[0])
            break
        except OSError:
            time.sleep(0.05)
    for path, body in ASKED[1:]:
        ask(path, body)
finally:
    daemon.terminate()
    daemon.wait(10)
