using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Runtime.Axes;

/// <content>
/// Outputs of the drive that the machine file uses: bits of the command image. Those that the definition lets be read back are read at every
/// meeting before their register is written, and written as they were found; another is off after a meeting unless the drive ran through.
/// </content>
public sealed partial class Axis
{
    private readonly DriveOutput[] _outputs;
    private readonly Parameter[] _outputFields;
    private int _outputFieldAt;

    private bool ReadsOutputs => _meeting == MeetingStage.Ask && Contact.IsComplete && _outputFieldAt < _outputFields.Length;

    private static DriveOutput[] OutputsOf(MachineBoard board, int axis, ExchangePlan plan, out Parameter[] fields)
    {
        var read = new List<Parameter>();
        var outputs = new List<DriveOutput>();
        for (var i = 0; i < board.Outputs.Places.Count; i++)
        {
            var place = board.Outputs.Places[i];
            if (place.Source != OutputSource.Drive || place.Axis != axis)
            {
                continue;
            }

            var bit = plan.Drive.Outputs.ElementAt(place.Output).Value;
            var field = plan.Drive.CommandField(bit.Field)!;
            if (field.ReadBack && !read.Exists(parameter => parameter.Field == field))
            {
                read.Add(new Parameter(plan, field, null));
            }

            outputs.Add(new DriveOutput(board.Outputs.Cells[i], place.Output, read.Find(parameter => parameter.Field == field), bit));
        }

        fields = [.. read];
        return [.. outputs];
    }

    /// <summary>Puts what is ordered into the image, and tells what the drive has confirmed. Before every step.</summary>
    internal void LookAtOutputs(TimeSpan now)
    {
        if (_meeting is MeetingStage.Look or MeetingStage.Ask)
        {
            return;
        }

        foreach (ref readonly var output in _outputs.AsSpan())
        {
            var isDue = output.Cell.IsDue(out var order);
            if (isDue)
            {
                Coding.PutOutput(Image, output.Index, order.On);
            }

            if (Coding.HeldOutput(Image, output.Index) is not { } held)
            {
                continue;
            }

            if (isDue && held == order.On)
            {
                output.Cell.Acknowledge(order, now);
            }
            else if (!isDue)
            {
                output.Cell.Found(held, now);
            }
        }
    }

    private void LoseOutputs()
    {
        _outputFieldAt = 0;
        foreach (ref readonly var output in _outputs.AsSpan())
        {
            output.Cell.Lose();
        }
    }

    private void AskOutputs(Transaction transaction) => _outputFields[_outputFieldAt].Read(transaction, Unit);

    private void TakeOutputs(Transaction transaction, TimeSpan now)
    {
        _exchanged = true;
        _outputFields[_outputFieldAt].TakeReply(transaction);
        _outputFieldAt++;
        if (_outputFieldAt == _outputFields.Length)
        {
            BeginSet(now);
        }
    }

    /// <summary>The image's outputs as the drive is to have them after the meeting: as they were found, or as was ordered since.</summary>
    private void PutFoundOutputs(TimeSpan now)
    {
        var fell = Definition.Drive.CommunicationTimeout?.Outputs == OutputsAtTimeout.Off;
        foreach (ref readonly var output in _outputs.AsSpan())
        {
            if (fell)
            {
                // Its register may say otherwise, and would switch it on again.
                Coding.PutOutput(Image, output.Index, false);
            }
            else if (output.Field is { } field)
            {
                var found = output.FoundIn(field);
                Coding.PutOutput(Image, output.Index, found);
                output.Cell.Found(found, now);
            }
        }
    }

    private readonly struct DriveOutput(OutputCell cell, int index, Parameter? field, BitReference bit)
    {
        public readonly OutputCell Cell = cell;

        /// <summary>Index in the drive definition.</summary>
        public readonly int Index = index;

        /// <summary>The register it is read back from; null when it is not.</summary>
        public readonly Parameter? Field = field;

        public bool FoundIn(Parameter field) => field.Bit(bit.Bit);
    }
}
