import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))  # for the modules that several tests share, such as demo_flight
