"""Settings of a JupyterHub for a classroom: one machine in a room of its own; see DEVELOPERS.md.

Whoever knows the room's password may come in under a name of their own choice: keep it off the internet.
"""

import os
import shutil
import sys
from pathlib import Path

ROOT = Path(os.environ.get("WORKBOOK", Path(__file__).resolve().parents[2]))
CLASS = Path(os.environ.get("CLASSROOM", Path.home() / "classroom"))

c = get_config()  # noqa: F821  (given by JupyterHub)
c.JupyterHub.bind_url = os.environ.get("HUB_URL", "http://127.0.0.1:8000")
c.JupyterHub.authenticator_class = "dummy"
c.Authenticator.allow_all = True
c.DummyAuthenticator.password = os.environ["CLASSROOM_PASSWORD"]
c.JupyterHub.spawner_class = "simple"
c.JupyterHub.concurrent_spawn_limit = 0  # the whole class starts at the same minute
c.Spawner.start_timeout = 300
c.Spawner.http_timeout = 300
c.Spawner.cmd = [sys.executable, "-m", "jupyterhub.singleuser"]
c.Spawner.args = [f"--config={ROOT / '.jupyter_lab.py'}"]  # pictures follow the hand
if os.geteuid() == 0:  # a machine, or a container, that does nothing else
    c.Spawner.args.append("--allow-root")
c.Spawner.environment = {"PYTHONPATH": str(ROOT)}


def copy_of_the_lessons(spawner):
    """Give each reader a copy of the lessons and their pictures, once; nothing of theirs is overwritten."""
    own = CLASS / spawner.user.name
    for folder in ("notebooks", "figures"):
        if not (own / folder).exists():
            shutil.copytree(ROOT / folder, own / folder)
    spawner.notebook_dir = str(own)


c.Spawner.pre_spawn_hook = copy_of_the_lessons
c.SimpleLocalProcessSpawner.home_dir_template = str(CLASS / "{username}")

if token := os.environ.get("CLASSROOM_MEASURED"):  # only for tests/benchmarks/classroom.py
    c.JupyterHub.services = [{"name": "measure", "api_token": token}]
    scopes = ["admin:users", "admin:servers", "access:servers"]
    c.JupyterHub.load_roles = [{"name": "measure", "services": ["measure"], "scopes": scopes}]
