//! All controls of a running class, opened together; dropped, they end.

use super::Board;
use super::Mapping;
use super::Panel;
use super::Teller;
use super::devices;
use super::hotkeys;
use super::media;
use super::socket;
use super::socket::Socket;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc::Receiver;

/// The controls that are open.
pub struct Controls {
    panel: Panel,
    notices: Receiver<String>,
    socket: Option<Socket>,
    open: Arc<AtomicBool>,
}

impl Controls {
    /// Opens the socket, the media keys, the devices and the hotkeys of a mapping. What cannot be
    /// opened is among the notices; the class goes on without.
    pub fn open(mapping: &Mapping, teller: Teller, board: Board, folder: &Path) -> Self {
        let (panel, notices) = Panel::new(teller, board);
        let open = Arc::new(AtomicBool::new(true));
        let socket = match socket::Socket::open(folder, panel.clone()) {
            Ok(socket) => Some(socket),
            Err(error) => {
                panel.notice(error.to_string());
                None
            }
        };
        media::serve(mapping, panel.clone(), Arc::clone(&open));
        devices::serve(&mapping.devices, &panel, &open);
        hotkeys::serve(mapping, panel.clone(), Arc::clone(&open));
        Self {
            panel,
            notices,
            socket,
            open,
        }
    }

    /// Returns the panel, for a control that is opened elsewhere.
    pub fn panel(&self) -> &Panel {
        &self.panel
    }

    /// Returns whether `tell` and `status` reach this class.
    pub fn are_reached(&self) -> bool {
        self.socket.is_some()
    }

    /// Returns what the listener should know of the controls, since it was last asked.
    pub fn notices(&self) -> impl Iterator<Item = String> {
        self.notices.try_iter()
    }
}

impl Drop for Controls {
    fn drop(&mut self) {
        self.open.store(false, Ordering::Relaxed);
    }
}
