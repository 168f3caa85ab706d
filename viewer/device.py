"""What this machine can draw with: a display for the window, something off screen for stills; and keeping it quiet."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from tapeloft.model.errors import TapeloftError

CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"
EGL_DEVICE = 0x313F  # EGL_PLATFORM_DEVICE_EXT, from the Khronos registry's EGL_EXT_platform_device
OSMESA = ("libOSMesa.so", "libOSMesa.so.8", "libOSMesa.so.6")


NO_DISPLAY = "there is no display here to open a window on\n    mend: use --still FILE.png for a picture"


def display_here() -> bool:
    """Whether a window can be opened: on Linux, whether an X server answers."""
    if not sys.platform.startswith("linux"):
        return True
    library = _loaded("libX11.so.6") if os.environ.get("DISPLAY") else None
    if library is None:
        return False
    library.XOpenDisplay.restype = ctypes.c_void_p
    library.XCloseDisplay.argtypes = [ctypes.c_void_p]
    screen = library.XOpenDisplay(None)
    if screen:
        library.XCloseDisplay(screen)
    return bool(screen)


def off_screen_window() -> str:
    """Return the name of the window class that draws off screen here, empty for the machine's own.

    Tried before the drawing library is asked, since that crashes the process where it finds nothing to draw with.
    Raises TapeloftError.
    """
    if not sys.platform.startswith("linux"):
        return ""
    if _egl_works():
        return "vtkEGLRenderWindow"
    if any(_loaded(name) for name in OSMESA):
        return "vtkOSOpenGLRenderWindow"
    if display_here():
        return "vtkXOpenGLRenderWindow"
    raise TapeloftError(
        "no picture can be drawn here: neither EGL nor OSMesa nor a display works\n"
        "    mend: install the EGL library of Mesa (libegl1 and libegl-mesa0 on Debian, mesa-libEGL on Fedora)"
    )


@contextmanager
def drawing_with(window: str) -> Iterator[None]:
    """Have the drawing library make windows of this class while it lasts, and keep its remarks off the terminal."""
    from vtkmodules.vtkCommonCore import vtkLogger, vtkOutputWindow, vtkStringOutputWindow

    before = os.environ.get(CHOICE), vtkOutputWindow.GetInstance(), vtkLogger.GetCurrentVerbosityCutoff()
    if window:
        os.environ[CHOICE] = window
    vtkOutputWindow.SetInstance(vtkStringOutputWindow())
    vtkLogger.SetStderrVerbosity(vtkLogger.VERBOSITY_OFF)
    try:
        yield
    finally:
        choice, output, verbosity = before
        if choice is None:
            os.environ.pop(CHOICE, None)
        else:
            os.environ[CHOICE] = choice
        vtkOutputWindow.SetInstance(output)
        vtkLogger.SetStderrVerbosity(verbosity)


def _loaded(name: str) -> ctypes.CDLL | None:
    try:
        return ctypes.CDLL(name)
    except OSError:
        return None


def _egl_works() -> bool:
    """Whether EGL has a device that starts, asked in the way the drawing library will."""
    os.environ.setdefault("EGL_LOG_LEVEL", "fatal")  # else Mesa tells the terminal of devices that it may not open
    egl = _loaded("libEGL.so.1")
    if egl is None:
        return False
    egl.eglGetProcAddress.restype = ctypes.c_void_p
    egl.eglInitialize.argtypes = [ctypes.c_void_p] * 3
    query_at, display_at = (
        egl.eglGetProcAddress(name) for name in (b"eglQueryDevicesEXT", b"eglGetPlatformDisplayEXT")
    )
    if not (query_at and display_at):
        return False
    query = ctypes.CFUNCTYPE(ctypes.c_uint, ctypes.c_int, ctypes.c_void_p, ctypes.POINTER(ctypes.c_int))(query_at)
    display = ctypes.CFUNCTYPE(ctypes.c_void_p, ctypes.c_uint, ctypes.c_void_p, ctypes.c_void_p)(display_at)
    count = ctypes.c_int(0)
    if not query(0, None, ctypes.byref(count)) or count.value < 1:
        return False
    devices = (ctypes.c_void_p * count.value)()
    query(count.value, devices, ctypes.byref(count))
    first = display(EGL_DEVICE, devices[0], None)
    return bool(first) and bool(egl.eglInitialize(first, None, None))
