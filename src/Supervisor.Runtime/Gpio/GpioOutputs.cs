using Supervisor.Bus.Gpio;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Runtime.Gpio;

/// <summary>
/// The outputs of one GPIO chip. A line is asked for as it is found, so that its level is known before it is made an output: one that must hold over
/// a start does. Every level is read back. Stepped by the chip's thread; nothing allocated while all is well.
/// </summary>
internal sealed class GpioOutputs
{
    private static readonly TimeSpan RetryInterval = TimeSpan.FromSeconds(1);
    private readonly IGpioKernel _kernel;
    private readonly string _chip;
    private readonly Output[] _outputs;
    private readonly Action<string, string> _tell;
    private TimeSpan _retryAt;

    /// <param name="board">What all threads share.</param>
    /// <param name="chip">Label of the chip.</param>
    /// <param name="kernel">The system calls.</param>
    /// <param name="tell">Told of each output whose state changed, with its problem; empty: it is held.</param>
    internal GpioOutputs(MachineBoard board, string chip, IGpioKernel kernel, Action<string, string> tell)
    {
        (_kernel, _chip, _tell) = (kernel, chip, tell);
        _outputs = [.. Enumerable.Range(0, board.Outputs.Places.Count)
            .Where(output => board.Outputs.Places[output].Gpio?.Chip == chip)
            .Select(output => new Output(board.Outputs.Cells[output], board.Outputs.Places[output].Text, board.Outputs.Places[output].Gpio!.Line,
                GpioLineSettings.AsFound with { ActiveLow = board.Outputs.Places[output].ActiveLow }))];
    }

    /// <summary>Sets what is ordered and reads every level back.</summary>
    internal void Step(TimeSpan now)
    {
        Request(now);
        for (var i = 0; i < _outputs.Length; i++)
        {
            if (_outputs[i].Line is not null)
            {
                Step(ref _outputs[i], now);
            }
        }
    }

    /// <summary>Gives every line back.</summary>
    internal void Close()
    {
        for (var i = 0; i < _outputs.Length; i++)
        {
            Lose(ref _outputs[i], "");
        }
    }

    private void Step(ref Output output, TimeSpan now)
    {
        var isDue = output.Cell.IsDue(out var order);
        if (isDue && !(output.IsDriven ? output.Line!.Set(order.On) : output.Line!.MakeOutput(order.On)))
        {
            Lose(ref output, $"chip \"{_chip}\" does not set it: check its connection, and that the line can be an output");
            return;
        }

        output.IsDriven |= isDue;
        if (output.Line!.Level() is not { } level)
        {
            Lose(ref output, $"chip \"{_chip}\" does not answer any more: check its connection");
        }
        else if (isDue && level == order.On)
        {
            output.Cell.Acknowledge(order, now);
        }
        else
        {
            // Ordered otherwise than it is: what drives it is stronger, and the next step tries again.
            output.Cell.Found(level, now);
        }
    }

    private void Request(TimeSpan now)
    {
        if (now < _retryAt || !IsAnyMissing())
        {
            return;
        }

        _retryAt = now + RetryInterval;
        using var chip = GpioChip.Open(_kernel, _chip, out var problem);
        for (var i = 0; i < _outputs.Length; i++)
        {
            ref var output = ref _outputs[i];
            if (output.Line is null)
            {
                output.Line = chip is null ? null : GpioLine.Request(_kernel, chip, output.Name, output.Settings, "axis-supervisor"u8, out problem);
                output.IsDriven = false;
                Tell(ref output, output.Line is null ? problem : "");
                TakeFirstLevel(ref output, now);
            }
        }
    }

    /// <summary>What it was left at, before anything is written to it.</summary>
    private static void TakeFirstLevel(ref Output output, TimeSpan now)
    {
        if (output.Line?.Level() is { } level)
        {
            output.Cell.Found(level, now);
        }
    }

    private bool IsAnyMissing()
    {
        foreach (ref readonly var output in _outputs.AsSpan())
        {
            if (output.Line is null)
            {
                return true;
            }
        }

        return false;
    }

    private void Lose(ref Output output, string problem)
    {
        if (output.Line is null)
        {
            return;
        }

        output.Line.Release();
        output.Line = null;
        output.Cell.Lose();
        if (problem.Length > 0)
        {
            Tell(ref output, problem);
        }
    }

    private void Tell(ref Output output, string problem)
    {
        if (output.Told != problem)
        {
            output.Told = problem;
            _tell(output.Text, problem);
        }
    }

    private struct Output(OutputCell cell, string text, string name, GpioLineSettings settings)
    {
        public readonly OutputCell Cell = cell;
        public readonly string Text = text;
        public readonly string Name = name;
        public readonly GpioLineSettings Settings = settings;
        public GpioLine? Line;

        /// <summary>It is an output by us; before, it is as it was found.</summary>
        public bool IsDriven;

        /// <summary>What was told last; null before the first time.</summary>
        public string? Told;
    }
}
