"""Runs a command and prints its seconds, its CPU seconds, and its largest memory in MB."""
import os
import subprocess
import sys
import time

begin = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, used = os.wait4(child.pid, 0)
took = time.perf_counter() - begin
if status != 0:
    sys.exit(f"timed.py: {sys.argv[1:]} ended with {status}")
print(f"{took:.3f} {used.ru_utime + used.ru_stime:.3f} {used.ru_maxrss / 1024:.1f}")
