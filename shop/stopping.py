"""Whether this process was told to end: long work looks here between two steps."""

import threading

stopping = threading.Event()
