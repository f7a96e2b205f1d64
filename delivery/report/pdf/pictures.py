"""Pictures on a page of the PDF."""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.utils import ImageReader

from delivery.report.pdf.flow import Flow


def draw(flow: Flow, data: bytes, x: float, y: float, width: float, height: float) -> tuple[float, float]:
    """Fit the picture into a box whose upper left corner is *x*, *y*; gives the size it took, in points."""
    reader = ImageReader(BytesIO(data))
    across, down = reader.getSize()
    scale = min(width / across, height / down)
    size = across * scale, down * scale
    foot = flow.sheet.height - y - size[1]
    flow.mark(lambda canvas: canvas.drawImage(reader, x, foot, *size))
    return size
