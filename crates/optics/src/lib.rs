//! The physical model of camera, light and sheet.
