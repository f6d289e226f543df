using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>Reads one module as the machine file describes it.</summary>
internal sealed class ModuleDiagnosis(ModuleDefinition module, PortDefinition port, LineReader line)
{
    private readonly List<Finding> _findings = [];
    private bool[]? _inputs;
    private bool[]? _outputs;

    /// <summary>Something of it was read.</summary>
    public bool HasAnswered { get; private set; }

    /// <summary>Time of one reading of its inputs; zero when there was none.</summary>
    public TimeSpan Duration { get; private set; }

    public DiagnosedThing Result => new("module", module.Name, $"{port.Name}, address {module.Address}", _findings);

    /// <summary>Level of an input; null when it was not read.</summary>
    public bool? Input(int bit) => _inputs?[bit];

    /// <summary>Level of an output; null when it was not read.</summary>
    public bool? Output(int bit) => _outputs?[bit];

    public void Run()
    {
        if (module.Inputs is { } inputs)
        {
            _inputs = Read(inputs.Function, inputs.Start, inputs.Bits, inputs.Packing, "its inputs");
            Duration = _inputs is null ? TimeSpan.Zero : line.Last.EndedAt - line.Last.BegunAt;
            Tell("inputs", "closed", _inputs);
        }

        if (module.Outputs is { ReadBack: { } back } outputs && line.Last.Result != TransactionResult.LinkGone)
        {
            _outputs = Read(back.Function, back.Start, outputs.Bits, outputs.Packing, "its outputs");
            Tell("outputs", "on", _outputs);
        }

        if (HasAnswered && IdentificationDiagnosis.Look(module.Identification, line, port, module.Address, module.Turnaround) is { } identified)
        {
            _findings.Add(identified);
        }

        foreach (var setting in module.CommunicationTimeout?.Writes ?? [])
        {
            if (setting.ReadBack)
            {
                Compare(setting, ReferenceEquals(setting, module.CommunicationTimeout!.Time));
            }
        }
    }

    private bool[]? Read(byte function, ushort start, int bits, BitPacking packing, string what)
    {
        var isPacked = function is FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters;
        var count = (ushort)(isPacked ? packing.Registers(bits) : bits);
        var result = isPacked ? line.Read(module.Address, function, start, count, module.Turnaround) : line.ReadBits(module.Address, function, start, count, module.Turnaround);
        if (result != TransactionResult.Reply)
        {
            _findings.Add(Trouble.Of(line, port, $"{what} ({count} {(isPacked ? "registers" : "bits")} from {start} by function {function})", "the module's entry in the machine file"));
            return null;
        }

        HasAnswered = true;
        var levels = new bool[bits];
        for (var bit = 0; bit < bits; bit++)
        {
            var (register, place) = packing.PlaceOf(bit, bits);
            levels[bit] = isPacked ? ((line.Last.ReplyRegister(register) >> place) & 1) != 0 : line.Last.ReplyBit(bit);
        }

        return levels;
    }

    private void Tell(string what, string word, bool[]? levels)
    {
        if (levels is not null)
        {
            var set = Enumerable.Range(0, levels.Length).Where(bit => levels[bit]).ToArray();
            _findings.Add(Finding.Good($"{levels.Length} {what}; {word}: {(set.Length == 0 ? "none" : string.Join(", ", set))}"));
        }
    }

    private void Compare(ModuleSetting setting, bool isTime)
    {
        var name = isTime ? $"its communication time-out (register {setting.Register})" : $"register {setting.Register}";
        if (line.Read(module.Address, FunctionCode.ReadHoldingRegisters, setting.Register, 1, module.Turnaround) != TransactionResult.Reply)
        {
            _findings.Add(Trouble.Of(line, port, name, "the module's communicationTimeout in the machine file"));
            return;
        }

        var found = line.Last.ReplyRegister(0);
        _findings.Add(found == setting.Value
            ? Finding.Good($"{name} is {found}")
            : Finding.Note($"{name} is {found}, the machine file has {setting.Value}", "the daemon sets it before it sets any output"));
    }
}
