using Supervisor.Bus.Gpio;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Gpio;

/// <summary>
/// The lines of one GPIO chip. Inputs: edges and levels go to the input board, and what opens trips its interlocks at once. A chip or
/// line that can't be had is not written, so that it grows silent and counts as open; it is asked for again. Outputs: see <see cref="GpioOutputs"/>.
/// No thread; nothing allocated while all is well.
/// </summary>
/// <remarks>Not a safety function: what protects people is wired and removes power by itself.</remarks>
public sealed class GpioStepper
{
    /// <summary>How long a contact must be 1 without a break before it counts as closed again (common practice, no source). An opening is never delayed.</summary>
    public static readonly TimeSpan Release = TimeSpan.FromMilliseconds(20);

    private static readonly TimeSpan RetryInterval = TimeSpan.FromSeconds(1);
    private const int EdgesPerRead = 16;

    // What bounces without end must not keep the thread from its other lines: the rest is read in the next step.
    private const int MostReadsPerStep = 8;

    private readonly MachineBoard _board;
    private readonly IGpioKernel _kernel;
    private readonly Input[] _inputs;
    private readonly int[] _descriptors;
    private readonly GpioReadiness[] _states;
    private readonly GpioEdge[] _edges = new GpioEdge[EdgesPerRead];
    private readonly InputTrips _trips;
    private readonly GpioOutputs _outputs;
    private readonly Action<string, string> _tell;
    private readonly Beat _beat;
    private TimeSpan _retryAt;

    /// <param name="board">What all threads share.</param>
    /// <param name="chip">Label of the chip.</param>
    /// <param name="kernel">The system calls.</param>
    /// <param name="tell">Told of each line whose state changed, with its problem; empty: it is held.</param>
    public GpioStepper(MachineBoard board, string chip, IGpioKernel kernel, Action<string, string> tell)
    {
        ArgumentNullException.ThrowIfNull(board);
        (_board, Chip, _kernel, _tell) = (board, chip, kernel, tell);
        _inputs = [.. Enumerable.Range(0, board.Inputs.Inputs.Count)
            .Where(cell => board.Inputs.Inputs[cell].Gpio?.Chip == chip)
            .Select(cell => new Input(cell, board.Inputs.Inputs[cell]))];
        _descriptors = new int[_inputs.Length];
        Array.Fill(_descriptors, -1);
        _states = new GpioReadiness[_inputs.Length];
        _trips = new InputTrips(board, _inputs.Select(input => input.Cell));
        _outputs = new GpioOutputs(board, chip, kernel, tell);
        _beat = board.Chips.First(beat => beat.Name == chip);
    }

    /// <summary>Label of the chip.</summary>
    public string Chip { get; }

    /// <summary>Monotonic time of the last step. Any thread.</summary>
    public TimeSpan Heartbeat => _beat.At;

    /// <summary>Labels of the chips that a machine's inputs and outputs are on.</summary>
    public static IReadOnlyList<string> ChipsOf(MachineBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        return [.. board.Chips.Select(chip => chip.Name)];
    }

    /// <summary>Waits for an edge, at most for <paramref name="timeout"/>.</summary>
    public void Wait(TimeSpan timeout) => _kernel.Wait(_descriptors, _states, timeout);

    /// <summary>Takes what is queued, reads every level, judges; sets what outputs were ordered. Stamps of edges are of the same clock as <paramref name="now"/>.</summary>
    public void Step(TimeSpan now)
    {
        Request(now);
        _kernel.Wait(_descriptors, _states, TimeSpan.Zero);
        for (var i = 0; i < _inputs.Length; i++)
        {
            if (_descriptors[i] >= 0)
            {
                Read(i, now);
            }
        }

        _trips.Judge(now);
        _outputs.Step(now);
        _beat.Note(now);
    }

    /// <summary>Gives every line back.</summary>
    public void Close()
    {
        for (var i = 0; i < _inputs.Length; i++)
        {
            Lose(i, "");
        }

        _outputs.Close();
    }

    private void Read(int index, TimeSpan now)
    {
        ref var input = ref _inputs[index];
        if (_states[index] == GpioReadiness.Broken || (_states[index] == GpioReadiness.Readable && !TakeEdges(index, now)) || input.Line!.Level() is not { } level)
        {
            Lose(index, $"chip \"{Chip}\" does not answer any more: check its connection");
            return;
        }

        input.Contact.TakeLevel(level, now);
        Publish(input, now);
    }

    private bool TakeEdges(int index, TimeSpan now)
    {
        ref var input = ref _inputs[index];
        for (var read = 0; read < MostReadsPerStep; read++)
        {
            var count = input.Line!.ReadEdges(_edges);
            for (var i = 0; i < count; i++)
            {
                if (input.Contact.Take(_edges[i]) && input.Contact.IsKnown)
                {
                    // An opening that has passed by now has been one all the same: it trips before the next edge is looked at.
                    Publish(input, now);
                    _trips.Judge(now);
                }
            }

            if (count < EdgesPerRead)
            {
                return count >= 0;
            }

            // A whole buffer: there may be more, and a read of an empty queue would block.
            _kernel.Wait(_descriptors, _states, TimeSpan.Zero);
            if (_states[index] != GpioReadiness.Readable)
            {
                return _states[index] == GpioReadiness.Quiet;
            }
        }

        return true;
    }

    private void Publish(in Input input, TimeSpan now) => _board.Inputs.Write(input.Cell, input.Contact.IsClosed, input.Contact.ChangedAt, now);

    private void Request(TimeSpan now)
    {
        if (now < _retryAt || Array.IndexOf(_descriptors, -1) < 0)
        {
            return;
        }

        _retryAt = now + RetryInterval;
        using var chip = GpioChip.Open(_kernel, Chip, out var problem);
        for (var i = 0; i < _inputs.Length; i++)
        {
            if (_descriptors[i] >= 0)
            {
                continue;
            }

            ref var input = ref _inputs[i];
            var settings = new GpioLineSettings(IsOutput: false, ActiveLow: false, GpioBias.AsIs, InitialOn: false);
            input.Line = chip is null ? null : GpioLine.Request(_kernel, chip, input.Name, settings, "axis-supervisor"u8, out problem);
            _descriptors[i] = input.Line?.Descriptor ?? -1;
            input.Contact = new GpioContact(Release);
            Tell(i, input.Line is null ? problem : "");
        }
    }

    private void Lose(int index, string problem)
    {
        ref var input = ref _inputs[index];
        if (input.Line is null)
        {
            return;
        }

        input.Line.Release();
        input.Line = null;
        _descriptors[index] = -1;
        if (problem.Length > 0)
        {
            Tell(index, problem);
        }
    }

    private void Tell(int index, string problem)
    {
        ref var input = ref _inputs[index];
        if (input.Told != problem)
        {
            input.Told = problem;
            _tell(input.Text, problem);
        }
    }

    private struct Input(int cell, InputReference reference)
    {
        public readonly int Cell = cell;
        public readonly string Name = reference.Gpio!.Line;
        public readonly string Text = reference.Text;
        public GpioLine? Line;
        public GpioContact Contact;

        /// <summary>What was told last; null before the first time.</summary>
        public string? Told;
    }
}
