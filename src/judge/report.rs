//! stub
/// stub
pub struct Judged;
/// stub
pub fn exit_status() {}
/// stub
pub fn report() {}
