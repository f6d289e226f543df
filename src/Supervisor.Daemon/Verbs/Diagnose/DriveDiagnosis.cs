using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>Reads one drive as its definition says, and holds it against the machine file.</summary>
internal sealed class DriveDiagnosis
{
    private const int Samples = 5;

    private readonly AxisDefinition _axis;
    private readonly PortDefinition _port;
    private readonly LineReader _line;
    private readonly ExchangePlan _plan;
    private readonly ushort[] _registers;
    private readonly List<Finding> _findings = [];

    public DriveDiagnosis(AxisDefinition axis, PortDefinition port, LineReader line)
    {
        (_axis, _port, _line) = (axis, port, line);
        _plan = new ExchangePlan(axis.Drive);
        _registers = new ushort[_plan.FeedbackRegisters];
    }

    /// <summary>Its feedback was read whole.</summary>
    public bool HasAnswered { get; private set; }

    /// <summary>Time of one reading of its feedback; zero when it did not answer.</summary>
    public TimeSpan Duration { get; private set; }

    public DiagnosedThing Result => new("drive", _axis.Name, $"{_port.Name}, address {_axis.Address}, \"{_axis.Drive.Name}\"", _findings);

    /// <summary>Level of a digital input; null when it was not read.</summary>
    public bool? Input(BitReference bit) => HasAnswered ? _plan.FeedbackBit(bit).Get(_registers) : null;

    public void Run()
    {
        if (!ReadFeedback())
        {
            return;
        }

        Measure();
        LookAtIdentity();
        LookAtIdentification();
        LookAtState();
        LookAtParameters();
    }

    private bool ReadFeedback()
    {
        foreach (var block in _plan.FeedbackBlocks)
        {
            if (_line.Read(_axis.Address, block.ReadFunction, block.Start, block.Count, _axis.Drive.Wire.Turnaround) != TransactionResult.Reply)
            {
                _findings.Add(Trouble.Of(_line, _port, $"its feedback ({Registers(block.Start, block.Count)} by function {block.ReadFunction})", "the drive definition"));
                return false;
            }

            for (var i = 0; i < block.Count; i++)
            {
                _registers[block.Offset + i] = _line.Last.ReplyRegister(i);
            }
        }

        HasAnswered = true;
        return true;
    }

    private void Measure()
    {
        var times = new List<TimeSpan>();
        for (var i = 0; i < Samples; i++)
        {
            var sum = TimeSpan.Zero;
            foreach (var block in _plan.FeedbackBlocks)
            {
                _ = _line.Read(_axis.Address, block.ReadFunction, block.Start, block.Count, _axis.Drive.Wire.Turnaround);
                sum += _line.Last.EndedAt - _line.Last.BegunAt;
            }

            times.Add(sum);
        }

        Duration = times.Order().ElementAt(Samples / 2);
        _findings.Add(Finding.Good($"answers; its feedback takes {Text.Of(Math.Round(Duration.TotalMilliseconds, 1))} ms"));
    }

    private void LookAtIdentity()
    {
        var told = new List<string>();
        foreach (var (name, word) in ((string, string)[])[(FieldNames.Model, "model"), (FieldNames.FirmwareVersion, "firmware"), (FieldNames.SerialNumber, "serial number")])
        {
            if (_axis.Drive.Parameter(name) is { Access: not RegisterAccess.Write } field && Read(field) is { } value)
            {
                told.Add($"{word} {Text.Of(value)}");
            }
        }

        if (told.Count > 0)
        {
            _findings.Add(Finding.Good(string.Join(", ", told)));
        }
    }

    private void LookAtIdentification()
    {
        if (IdentificationDiagnosis.Look(_axis.Drive.Identification, _line, _port, _axis.Address, _axis.Drive.Wire.Turnaround) is { } finding)
        {
            _findings.Add(finding);
        }
    }

    private void LookAtState()
    {
        var coding = DriveCoding.Create(_plan);
        coding.Decode(_registers, new CommandImage(_plan, coding.ControlOffset), out var feedback);
        var state = _axis.Drive.Coding == StateCoding.Cia402 ? Words(((Cia402State)feedback.CodedState).ToString()) : Flags(feedback);
        if (feedback.Has(DriveFlags.Fault))
        {
            var entry = FaultCatalogue.Entry(_axis.Drive.FaultCodeOf(feedback.ErrorCode));
            _findings.Add(Finding.Wrong($"in fault: {entry.Name}, its own number {feedback.ErrorCode} ({feedback.ErrorCode:X4}h)", entry.Remedy));
        }
        else if (feedback.Has(DriveFlags.Powered))
        {
            _findings.Add(Finding.Wrong($"its torque is on ({state}) and nobody supervises it", "stay clear, and switch its power off before anyone reaches in"));
        }
        else
        {
            _findings.Add(Finding.Good($"{state}, torque off"));
        }

        _findings.Add(feedback.IsPositionUnknown ? Finding.Note("does not know its position", "it must be homed") : Finding.Good($"counts {feedback.PositionRaw}"));
    }

    private void LookAtParameters()
    {
        var wanted = FirstContact.SetByMembers(_axis)
            .Select(each => (Field: _axis.Drive.Parameter(each.Name), each.Value, OnDifference: DifferenceAction.Write))
            .Concat(_axis.Parameters.Select(each => ((RegisterField?)each.Field, each.Value, each.OnDifference)));
        foreach (var (field, value, onDifference) in wanted)
        {
            if (field is { Access: RegisterAccess.ReadWrite } && Read(field) is { } found)
            {
                Compare(field, value, found, onDifference);
            }
        }

        foreach (var field in _axis.Drive.Parameters.Where(field => field.Access == RegisterAccess.Read && field.Name is FieldNames.Uptime or FieldNames.Homed))
        {
            if (Read(field) is { } value)
            {
                _findings.Add(Finding.Good(field.Name == FieldNames.Homed ? value != 0 ? "says that it is homed" : "says that it is not homed" : $"runs for {Text.Of(value)} {field.Unit ?? ""}".TrimEnd()));
            }
        }
    }

    private void Compare(RegisterField field, double wanted, double found, DifferenceAction onDifference)
    {
        var unit = field.Unit is { } named ? $" {named}" : "";
        if (Math.Abs(found - wanted) <= Math.Abs(field.Scale) / 2 + 1e-9)
        {
            _findings.Add(Finding.Good($"{field.Name} is {Text.Of(found)}{unit}"));
            return;
        }

        var what = $"{field.Name} is {Text.Of(found)}{unit}, the machine file has {Text.Of(wanted)}{unit}";
        _findings.Add(onDifference switch
        {
            DifferenceAction.Refuse => Finding.Wrong(what, "set it with `drive load` or the drive's own tool, or correct the machine file: the axis stays faulted until both agree"),
            DifferenceAction.Warn => Finding.Note(what, "the daemon leaves it and warns, as the machine file says"),
            _ => Finding.Note(what, "the daemon writes it when it meets the drive"),
        });
    }

    private double? Read(RegisterField field)
    {
        var address = _plan.Address(field);
        var function = field.ReadFunction(_axis.Drive.Wire);
        if (_line.Read(_axis.Address, function, address, (ushort)field.Width, _axis.Drive.Wire.Turnaround) != TransactionResult.Reply)
        {
            _findings.Add(Trouble.Of(_line, _port, $"{field.Name} ({Registers(address, field.Width)} by function {function})", "the drive definition"));
            return null;
        }

        Span<ushort> registers = stackalloc ushort[2];
        for (var i = 0; i < field.Width; i++)
        {
            registers[i] = _line.Last.ReplyRegister(i);
        }

        return _plan.ParameterSlot(field).Value(registers);
    }

    private static string Registers(int start, int count) => count == 1 ? $"register {start} on the wire" : $"registers {start} to {start + count - 1} on the wire";

    private static string Flags(in DriveFeedback feedback) => feedback.Has(DriveFlags.Moving) ? "moving" : feedback.Has(DriveFlags.Powered) ? "powered" : "not powered";

    /// <summary>SwitchOnDisabled becomes "switch on disabled".</summary>
    private static string Words(string name) =>
        string.Concat(name.Select((letter, i) => char.IsUpper(letter) ? $"{(i > 0 ? " " : "")}{char.ToLowerInvariant(letter)}" : $"{letter}"));
}
