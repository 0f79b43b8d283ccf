//! Figures and documents from an answer: side view, gauges, the sheet as HTML and PDF.
