"""What opening a bench in JupyterLab says."""

OPENED = "{notebook} is open in JupyterLab at\n\n    {address}\n"
STOP = "Press Ctrl+C in this window to stop; what was entered is in the record already."
NO_BROWSER = "No browser was opened: copy the address into one on this machine."
STOPPED = "JupyterLab has stopped."

IN_HUB = (
    "{notebook} opens in your browser at\n\n    {address}\n\n"
    "Put this behind the name of your hub, in place of all that follows the name now. Nothing new was started."
)
HUB_NO_ROOT = "Open {notebook} from the list of files in your browser; nothing new was started."
HUB_OUTSIDE = (
    "Your browser cannot reach {notebook}: your hub shows only what lies below {root}, and no hidden folder. "
    "Move the bench folder there, then open it again."
)

NO_FOLDER = "There is no folder {folder}; give the bench folder itself, or start one with: labkit new {folder} --part NAME"
NO_RECORD = (
    "{folder} holds no record.jsonl, so it is no bench folder; "
    "give another folder, or start a bench with: labkit new FOLDER --part NAME"
)
NO_NOTEBOOK = (
    "{folder} holds no notebook; copy one into it (a file that ends in .ipynb), then open the folder again."
)
WHICH = "{folder} holds several notebooks ({names}); say which one with --notebook."
NOT_THERE = "{folder} holds no notebook {name}; it holds: {names}."
NOTHING = "no notebook at all"
PORT_TAKEN = "Port {port} cannot be used ({reason}); give another --port, or none: then a free one is taken."
NOT_STARTED = "JupyterLab could not be started; its last words were: {last}"
ENDED = "JupyterLab ended by itself; its last words were: {last}"
SILENT = "nothing"
