"""How the window looks: fonts that are always there, and one style sheet made from a palette."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtGui import QColor, QFont, QFontDatabase, QFontMetrics, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from app.window.palette import DARK, LIGHT, Palette

_FONTS = Path(__file__).resolve().parent.parent / "fonts"
_SIGNS = (Path(__file__).resolve().parent / "signs").as_posix()
_LEAST_POINTS = 10.0

LOOKS = ("as the system", "light", "dark")


def palette_for(look: str) -> Palette:
    """The palette of a look: "light", "dark", or whichever the system asks for."""
    if look == "as the system":
        from PySide6.QtCore import Qt

        return DARK if QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark else LIGHT
    return DARK if look == "dark" else LIGHT


def load_fonts() -> None:
    """Make the bundled letters known, so that there is text where the system has none."""
    for path in sorted(_FONTS.glob("*.ttf")):
        QFontDatabase.addApplicationFont(str(path))


def app_font(text_size: float = 1.0) -> QFont:
    """The system's font at its own size (never below 10 points) times ``text_size``; bundled letters behind it."""
    system = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)
    families = [system.family()] if system.family() in QFontDatabase.families() else []
    font = QFont([*families, "DejaVu Sans"])
    font.setPointSizeF(max(system.pointSizeF(), _LEAST_POINTS) * text_size)
    font.setStyleHint(QFont.StyleHint.SansSerif)
    return font


def em(widget: QWidget | None = None) -> int:
    """The height of a line of the window's text in pixels; every measure of the window follows it."""
    font = widget.font() if widget is not None else QApplication.font()
    return QFontMetrics(font).height()


def dress(app: QApplication, palette: Palette, text_size: float = 1.0) -> None:
    """Give the whole application its font and colours."""
    app.setStyle("Fusion")
    font = app_font(text_size)
    app.setFont(font)
    app.setPalette(_qt_palette(palette))
    app.setStyleSheet(stylesheet(palette, QFontMetrics(font).height(), font.pointSizeF()))


def _qt_palette(p: Palette) -> QPalette:
    roles = {
        QPalette.ColorRole.Window: p.bar,
        QPalette.ColorRole.WindowText: p.ink,
        QPalette.ColorRole.Base: p.card,
        QPalette.ColorRole.AlternateBase: p.well,
        QPalette.ColorRole.Text: p.ink,
        QPalette.ColorRole.Button: p.card,
        QPalette.ColorRole.ButtonText: p.ink,
        QPalette.ColorRole.ToolTipBase: p.card,
        QPalette.ColorRole.ToolTipText: p.ink,
        QPalette.ColorRole.PlaceholderText: p.quiet,
        QPalette.ColorRole.Highlight: p.measured,
        QPalette.ColorRole.HighlightedText: p.on_measured,
        QPalette.ColorRole.Link: p.measured,
        QPalette.ColorRole.Mid: p.line,
        QPalette.ColorRole.Dark: p.line,
    }
    palette = QPalette()
    for role, colour in roles.items():
        palette.setColor(role, QColor(colour))
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText, QPalette.ColorRole.WindowText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor(p.line))
    return palette


def stylesheet(p: Palette, line: int, points: float) -> str:
    """The style sheet; ``line`` is the height of a line of text in pixels, ``points`` its size."""
    sizes = {
        "signs": _SIGNS,
        "box": line,
        "round": line // 2 + 2,
        "r": line // 3,
        "pad": max(3, line // 4),
        "wide": line * 3 // 5,
        "least": max(24, line + 6),
        "small": points * 0.92,
    }
    return _GROUNDS.format(p=p, small=line // 3, large=points * 1.25) + _CONTROLS.format(p=p, **sizes)


_GROUNDS = """
QMainWindow, QDialog {{ background: {p.bar}; }}
QWidget {{ color: {p.ink}; }}
QToolTip {{ background: {p.card}; color: {p.ink}; border: 1px solid {p.line}; padding: {small}px; }}
QMenuBar {{ background: {p.bar}; padding: 2px {small}px; }}
QMenuBar::item {{ padding: {small}px {small}px; border-radius: {small}px; background: transparent; }}
QMenuBar::item:selected {{ background: {p.measured_soft}; color: {p.ink}; }}
QMenu {{ background: {p.card}; border: 1px solid {p.line}; padding: {small}px 0; }}
QMenu::item {{ padding: {small}px 28px {small}px 28px; }}
QMenu::item:selected {{ background: {p.measured_soft}; color: {p.ink}; }}
QMenu::item:disabled {{ color: {p.line}; }}
QMenu::separator {{ height: 1px; background: {p.hairline}; margin: {small}px 10px; }}
QMenu::indicator {{ left: 6px; }}
QStatusBar {{ background: {p.bar}; color: {p.quiet}; border-top: 1px solid {p.hairline}; }}
QStatusBar::item {{ border: none; }}
QScrollArea, QScrollArea > QWidget > QWidget {{ background: transparent; border: none; }}
QScrollBar {{ background: transparent; border: none; margin: 0; }}
QScrollBar:horizontal {{ height: 12px; }}
QScrollBar:vertical {{ width: 12px; }}
QScrollBar::handle {{ background: {p.line}; border-radius: 4px; margin: 2px; min-width: 30px; min-height: 30px; }}
QScrollBar::add-line, QScrollBar::sub-line, QScrollBar::add-page, QScrollBar::sub-page {{
    background: transparent; width: 0; height: 0; border: none; }}
#topBar {{ background: {p.bar}; border-bottom: 1px solid {p.hairline}; }}
#strip {{ background: {p.strip}; border-top: 1px solid {p.hairline}; }}
#seamsPanel {{ background: {p.bar}; border-left: 1px solid {p.hairline}; }}
#seamsLine {{ background: {p.bar}; border-top: 1px solid {p.hairline}; }}
#emptyTable {{ background: {p.mat}; }}
QFrame[role="drop"] {{ border: 2px dashed {p.mat_ghost}; border-radius: 12px; background: transparent; }}
#noticeBar {{ background: {p.measured_soft}; border-bottom: 1px solid {p.measured}; }}
#noticeBar[wrong="true"] {{ background: {p.change_soft}; border-bottom: 2px solid {p.change}; }}
QFrame[role="sheet"] {{ background: {p.card}; border: 2px solid {p.line}; }}
QLabel[role="title"] {{ font-size: {large}pt; font-weight: 700; }}
QLabel[role="heading"] {{ font-weight: 700; }}
QLabel[role="quiet"] {{ color: {p.quiet}; }}
QLabel[role="measured"] {{ color: {p.measured}; }}
QLabel[role="warning"] {{ color: {p.change_ink}; }}
QLabel[role="arrow"] {{ color: {p.quiet}; font-size: {large}pt; }}
QLabel#understood {{ background: {p.card}; color: {p.measured}; border: 2px solid {p.measured};
    border-radius: {small}px; padding: {small}px; }}
QLabel#understood[wrong="true"] {{ color: {p.change_ink}; border-color: {p.change}; }}
QFrame[role="card"] {{ background: {p.card}; border: 2px solid {p.hairline}; border-radius: 10px; }}
QFrame[role="card"][chosen="true"] {{ border: 2px solid {p.change}; }}
QFrame[role="card"][off="true"] {{ background: {p.well}; border-style: dashed; border-color: {p.line}; }}
QFrame[role="card"][off="true"][chosen="true"] {{ border-color: {p.change}; }}
QFrame[role="card"][wrong="true"] {{ border: 2px solid {p.change}; }}
QFrame[role="card"]:focus {{ border: 2px solid {p.measured}; }}
QFrame[role="next"] {{ background: transparent; border: 2px dashed {p.line}; border-radius: 10px; }}
QFrame[role="next"]:focus, QFrame[role="next"]:hover {{ border-color: {p.measured}; }}
"""

_CONTROLS = """
QPushButton, QToolButton {{ background: {p.card}; border: 1px solid {p.line}; border-radius: {r}px;
    padding: {pad}px {wide}px; min-height: {least}px; }}
QPushButton:hover, QToolButton:hover {{ background: {p.measured_soft}; }}
QPushButton:focus, QToolButton:focus {{ border: 2px solid {p.measured}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {p.well}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {p.line}; border-color: {p.hairline}; }}
QPushButton[role="main"] {{ background: {p.measured}; color: {p.on_measured}; border: 1px solid {p.measured};
    font-weight: 700; padding-left: {least}px; padding-right: {least}px; }}
QPushButton[role="main"]:focus {{ border: 2px solid {p.ink}; }}
QPushButton[role="main"]:disabled {{ background: {p.well}; color: {p.quiet}; border-color: {p.line}; }}
QPushButton[role="remedy"], QPushButton[role="accept"] {{ padding: 0; min-height: 0; }}
QPushButton[role="remedy"] {{ background: {p.change}; color: {p.on_change}; border: 1px solid {p.change}; }}
QPushButton[role="remedy"]:hover {{ background: {p.change_ink}; }}
QPushButton[role="main"]:hover {{ border: 2px solid {p.ink}; }}
QPushButton[role="remedy"] QLabel {{ color: {p.on_change}; background: transparent; }}
QPushButton[role="remedy"]:focus {{ border: 2px solid {p.ink}; }}
QPushButton[role="offer"] {{ background: {p.measured_soft}; color: {p.ink}; border: 1px solid {p.measured}; }}
QPushButton[role="remark"] {{ background: transparent; border: 1px solid transparent; padding: 0; min-height: 0; }}
QPushButton[role="remark"]:hover {{ background: {p.measured_soft}; }}
QPushButton[role="remark"]:focus {{ border: 2px solid {p.measured}; }}
QPushButton[role="remark"] QLabel {{ color: {p.quiet}; font-style: italic; background: transparent; }}
QToolButton[role="plain"] {{ background: transparent; border: 1px solid transparent; padding: 2px;
    min-width: {least}px; min-height: {least}px; color: {p.quiet}; }}
QToolButton[role="plain"]:hover {{ background: {p.measured_soft}; color: {p.ink}; }}
QToolButton[role="plain"]:focus {{ border: 2px solid {p.measured}; }}
QToolButton[role="plain"]:disabled {{ color: {p.line}; }}
QToolButton[role="half"] {{ background: transparent; border: 2px solid transparent; border-radius: {r}px;
    padding: 2px {pad}px; color: {p.quiet}; }}
QToolButton[role="half"]:checked {{ background: {p.card}; border: 2px solid {p.measured}; color: {p.ink};
    font-weight: 700; }}
QToolButton[role="half"]:focus {{ border: 2px solid {p.ink}; }}
QToolButton[role="piece"] {{ background: {p.card}; border: 2px solid {p.hairline}; border-radius: 8px;
    padding: 2px {wide}px 2px {pad}px; }}
QToolButton[role="piece"]:checked {{ border: 2px solid {p.measured}; font-weight: 700; }}
QToolButton[role="piece"]:focus {{ border: 2px solid {p.ink}; }}
QLineEdit[role="dial"], QPushButton[role="dial"] {{ background: {p.change_soft}; color: {p.change_ink};
    border: 2px solid {p.change}; border-radius: {r}px; font-weight: 700; min-height: 20px;
    padding: 1px {pad}px; }}
QLineEdit[role="dial"]:focus, QPushButton[role="dial"]:focus {{ border-color: {p.measured}; background: {p.card};
    color: {p.ink}; }}
QPushButton[role="dial"]::menu-indicator {{ width: 0; image: none; }}
QLineEdit[role="dial"][wrong="true"] {{ border-style: dashed; border-color: {p.change}; }}
QLineEdit, QComboBox, QPlainTextEdit {{ background: {p.card}; border: 1px solid {p.line}; border-radius: {r}px;
    padding: {pad}px; min-height: {least}px; selection-background-color: {p.measured};
    selection-color: {p.on_measured}; }}
QLineEdit:focus, QComboBox:focus, QPlainTextEdit:focus {{ border: 2px solid {p.measured}; }}
QComboBox QAbstractItemView {{ background: {p.card}; border: 1px solid {p.line};
    selection-background-color: {p.measured_soft}; selection-color: {p.ink}; }}
QComboBox {{ padding-right: {least}px; }}
QComboBox::drop-down {{ border: none; width: {least}px; subcontrol-position: center right; }}
QComboBox::down-arrow {{ image: url({signs}/down-{p.name}.svg); width: {box}px; height: {box}px; }}
QCheckBox, QRadioButton {{ spacing: {pad}px; min-height: {least}px; padding: 0 4px; border: 2px solid transparent;
    border-radius: {r}px; }}
QCheckBox:focus, QRadioButton:focus {{ border: 2px solid {p.measured}; }}
QCheckBox::indicator, QRadioButton::indicator, QMenu::indicator {{ width: {box}px; height: {box}px;
    background: {p.card}; border: 2px solid {p.line}; border-radius: 4px; }}
QRadioButton::indicator {{ border-radius: {round}px; }}
QCheckBox::indicator:checked, QMenu::indicator:checked {{ background: {p.measured}; border-color: {p.measured};
    image: url({signs}/tick-{p.name}.svg); }}
QRadioButton::indicator:checked {{ background: {p.measured}; border-color: {p.measured};
    image: url({signs}/dot-{p.name}.svg); }}
QFrame[role="seam"] {{ background: {p.card}; border: 1px solid {p.hairline}; border-radius: 8px; }}
QFrame[role="seam"][wrong="true"] {{ border: 2px solid {p.change}; }}
QFrame[role="seam"]:focus {{ border: 2px solid {p.measured}; }}
QLabel[role="small"] {{ font-size: {small}pt; color: {p.quiet}; }}
"""
