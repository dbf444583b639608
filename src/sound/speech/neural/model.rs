//! The acoustic model: phonemes -> spectra, pitch and durations.

use std::fmt::Display;
use std::path::Path;
use std::sync::Arc;

use rten::ModelOptions;
use rten::NodeId;
use rten::RunOptions;
use rten::ThreadPool;
use rten_tensor::NdTensor;
use rten_tensor::Tensor;
use rten_tensor::prelude::*;

use crate::sound::speech::VoiceError;
use crate::sound::speech::library::VoiceInfo;

/// The node of the graph that holds each phoneme's duration, in steps of 25 ms.
const DURATIONS: &str = "/Clip_output_0";

/// The loaded graph.
pub struct Model {
    graph: rten::Model,
    inputs: [NodeId; 2],
    outputs: Vec<NodeId>,
    durations: Option<NodeId>,
    pool: Arc<ThreadPool>,
}

/// What the vocoder needs, each `bins x frames`, and the durations of the phonemes.
pub struct Spectra {
    /// Logarithm of the voiced envelope.
    pub voiced: Vec<f32>,
    /// Its phase, before `tanh`.
    pub turn: Vec<f32>,
    /// Logarithm of the noise envelope.
    pub noise: Vec<f32>,
    /// Logarithm of the residual's envelope.
    pub rest: Vec<f32>,
    /// The residual's phase.
    pub phase: Vec<f32>,
    /// Pitch in Hz, one a frame; 40 and less is unvoiced.
    pub pitch: Vec<f32>,
    /// One a phoneme, in steps of 25 ms; empty if the graph has none.
    pub durations: Vec<f32>,
}

impl Model {
    /// Loads the graph.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`] if the file is not the expected one or cannot be loaded.
    pub fn load(info: &VoiceInfo, folder: &Path) -> Result<Model, VoiceError> {
        let bytes = info.read(folder, info.model())?;
        let graph = ModelOptions::with_all_ops()
            .load(bytes)
            .map_err(|error| info.damaged(info.model(), error))?;
        let unexpected = || info.damaged(info.model(), "its inputs and outputs are others");
        let inputs = <[NodeId; 2]>::try_from(graph.input_ids()).map_err(|_| unexpected())?;
        let mut outputs = graph.output_ids().to_vec();
        if outputs.len() != 6 {
            return Err(unexpected());
        }
        let durations = graph.find_node(DURATIONS);
        outputs.extend(durations);
        Ok(Model {
            graph,
            inputs,
            outputs,
            durations,
            // Lines are made side by side, one thread each: faster than two threads on one line.
            pool: Arc::new(ThreadPool::with_num_threads(WORKERS)),
        })
    }

    /// Runs the graph on phoneme numbers; `speed` 1.0 is the voice's own.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Engine`] if the graph fails on them.
    pub fn run(&self, ids: &[i32], speed: f32) -> Result<Spectra, VoiceError> {
        let mut planes = self.outputs(ids, speed, &self.outputs)?.into_iter();
        let mut next = || planes.next().unwrap_or_default();
        Ok(Spectra {
            voiced: next(),
            turn: next(),
            noise: next(),
            rest: next(),
            phase: next(),
            pitch: next(),
            durations: next(),
        })
    }

    /// Runs only the part of the graph that gives the phonemes' durations, in steps of 25 ms;
    /// empty if it has none.
    ///
    /// # Errors
    ///
    /// As for [`Model::run`].
    pub fn durations(&self, ids: &[i32], speed: f32) -> Result<Vec<f32>, VoiceError> {
        let Some(node) = self.durations else {
            return Ok(Vec::new());
        };
        Ok(self.outputs(ids, speed, &[node])?.pop().unwrap_or_default())
    }

    fn outputs(
        &self,
        ids: &[i32],
        speed: f32,
        outputs: &[NodeId],
    ) -> Result<Vec<Vec<f32>>, VoiceError> {
        let text = NdTensor::from_data([1, ids.len()], ids.to_vec());
        let speed = NdTensor::from_data([1], vec![speed]);
        let options = RunOptions::default().with_thread_pool(Some(Arc::clone(&self.pool)));
        let inputs = vec![
            (self.inputs[0], text.view().into()),
            (self.inputs[1], speed.view().into()),
        ];
        self.graph
            .run(inputs, outputs, Some(options))
            .map_err(failed)?
            .into_iter()
            .map(|value| {
                let tensor: Tensor<f32> = value.try_into().map_err(failed)?;
                Ok(tensor.to_vec())
            })
            .collect()
    }
}

fn failed(error: impl Display) -> VoiceError {
    VoiceError::Engine(format!("the neural model failed: {error}"))
}

/// Threads that the graph may use for the lines in work at a time.
pub const WORKERS: usize = 2;
