//! The methods that the server has, by the path of a request.

use std::collections::HashMap;
use std::sync::Arc;

use prost_types::FileDescriptorSet;

/// The methods of the services, as their descriptors declare them.
///
/// A path that a caller made up is none of them: it gets no label of its own in the metrics.
#[derive(Debug, Clone, Default)]
pub struct Methods {
    /// By path, `/package.Service/Method`; whether either side streams.
    streaming: HashMap<Arc<str>, bool>,
}

impl Methods {
    /// Adds all methods of a set of descriptors.
    #[must_use]
    pub fn with(mut self, descriptors: &FileDescriptorSet) -> Self {
        for file in &descriptors.file {
            let package = file.package();
            let dot = if package.is_empty() { "" } else { "." };
            for service in &file.service {
                for method in &service.method {
                    let path = format!("/{package}{dot}{}/{}", service.name(), method.name());
                    let streams = method.client_streaming() || method.server_streaming();
                    self.streaming.insert(path.into(), streams);
                }
            }
        }
        self
    }

    /// Whether requests or responses of the method are a stream; a path without a method streams nothing.
    #[must_use]
    pub fn streams(&self, path: &str) -> bool {
        self.streaming.get(path).copied().unwrap_or_default()
    }

    /// The path of each method, in no order.
    pub(super) fn paths(&self) -> impl Iterator<Item = &Arc<str>> {
        self.streaming.keys()
    }
}

/// Methods of a test by their paths, and whether they stream.
#[cfg(test)]
impl FromIterator<(&'static str, bool)> for Methods {
    fn from_iter<I: IntoIterator<Item = (&'static str, bool)>>(methods: I) -> Self {
        Self { streaming: methods.into_iter().map(|(path, streams)| (path.into(), streams)).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::{FileDescriptorProto, MethodDescriptorProto, ServiceDescriptorProto};

    #[test]
    fn methods_are_known_by_path() {
        let method = |name: &str, client: bool, server: bool| MethodDescriptorProto {
            name: Some(name.to_owned()),
            client_streaming: Some(client),
            server_streaming: Some(server),
            ..Default::default()
        };
        let file = |package: Option<&str>| FileDescriptorProto {
            package: package.map(str::to_owned),
            service: vec![ServiceDescriptorProto {
                name: Some("Oven".to_owned()),
                method: vec![method("Bake", false, false), method("Watch", false, true)],
                ..Default::default()
            }],
            ..Default::default()
        };
        let methods = Methods::default()
            .with(&FileDescriptorSet { file: vec![file(Some("bakery.v1"))] })
            .with(&FileDescriptorSet { file: vec![file(None)] });
        let mut paths: Vec<&str> = methods.paths().map(AsRef::as_ref).collect();
        paths.sort_unstable();
        assert_eq!(paths, ["/Oven/Bake", "/Oven/Watch", "/bakery.v1.Oven/Bake", "/bakery.v1.Oven/Watch"]);
        assert!(methods.streams("/bakery.v1.Oven/Watch"));
        assert!(!methods.streams("/bakery.v1.Oven/Bake"));
        assert!(!methods.streams("/bakery.v1.Oven/Burn"));
    }
}
