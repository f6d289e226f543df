using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives.Bits;
using Supervisor.Simulation.Drives.Cia402;
using Supervisor.Simulation.Drives.Motion;
using Supervisor.Simulation.Plant;

namespace Supervisor.Simulation.Drives;

/// <summary>
/// A servo drive with a mass behind it, seen through exactly the registers of its definition. It does what a real one does, refusing included,
/// and knows nothing of the supervisor. A step machine: time comes by <see cref="Advance"/>. One thread at a time.
/// </summary>
public sealed class SimulatedDrive : IRegisterMap, IIdentified
{
    private static readonly TimeSpan Step = TimeSpan.FromSeconds(ServoAxis.StepSeconds);

    // What the map says to a broadcast while the drive starts; nobody gets to see it.
    private const byte DeviceFailure = 4;
    private const byte DeviceBusy = 6;

    private const ushort FirstFirmware = 0x0102;

    // Of the time its definition allows for saving.
    private const double SavingShare = 0.8;

    private readonly RegisterBank _bank;
    private readonly ServoAxis _axis;
    private readonly CommandedMotion _commanded;
    private readonly IDriveFront _front;
    private readonly CommunicationWatch _watch;
    private readonly FeedbackTeller _teller;
    private readonly RegisterValue? _timeout;
    private readonly DriveMemory _memory;
    private readonly DriveLock _lock;
    private TimeSpan _savingUntil;
    private readonly CommandBit _holdBrake;
    private TimeSpan? _now;
    private TimeSpan _bootedAt;

    /// <summary>Makes the drive of an axis, switched on with its brake closed and its position unknown; the zero of an absolute encoder was taught before.</summary>
    /// <param name="axis">The axis with its drive definition.</param>
    /// <param name="plant">What stands behind it; null: what the axis's limits suggest.</param>
    /// <param name="seed">Decides where the axis stands and the invented serial number, together with its name.</param>
    public SimulatedDrive(AxisDefinition axis, PlantSettings? plant = null, ulong seed = 1)
    {
        Axis = axis;
        Plant = new AxisPlant(plant ?? PlantFromAxis.Build(axis, seed), axis.CountsPerUnit * (axis.Inverted ? -1 : 1));
        _bank = new RegisterBank(axis.Drive);
        _axis = new ServoAxis(Plant);
        if (axis.Reference == ReferenceKind.Absolute)
        {
            _axis.KnowPlace();
        }

        _commanded = new CommandedMotion(axis, Plant.Settings, _bank);
        _watch = new CommunicationWatch(axis.Drive.CommunicationTimeout);
        _timeout = _bank.Commanded("communicationTimeout");
        _holdBrake = new CommandBit(_bank, axis.Drive.HoldBrake);
        _front = axis.Drive.Coding == StateCoding.Cia402
            ? new Cia402Front(axis, _bank, _axis, _commanded)
            : new BitFront(axis, _bank, _axis, _commanded);
        SerialNumber = (uint)(SeededDraw.For(seed, "serial number of " + axis.Name).Next() & 0x7FFF_FFFF);
        _teller = new FeedbackTeller(axis.Drive, _bank, _axis, _front);
        _memory = new DriveMemory(axis, _bank);
        _lock = new DriveLock(axis.Drive, _bank);
        FirmwareVersion = FirstFirmware;
        Identity = InventedIdentity.Of(axis.Drive.Identification, axis.Drive.Name);
        Commission();
    }

    /// <summary>The axis it drives.</summary>
    public AxisDefinition Axis { get; }

    /// <summary>What it tells of itself besides its registers; null where its definition does not ask it.</summary>
    public DeviceIdentity? Identity { get; set; }

    /// <summary>What is really there.</summary>
    public AxisPlant Plant { get; }

    /// <summary>Its invented serial number; a register of 16 bits tells the low ones.</summary>
    public uint SerialNumber { get; private set; }

    /// <summary>The encoder's battery is empty: told as the definition says, and the place is lost with the next restart.</summary>
    public bool IsBatteryEmpty
    {
        get => _teller.IsBatteryEmpty;
        set => _teller.IsBatteryEmpty = value;
    }

    /// <summary>What it does when its communication time-out runs out; set here as by its own panel, whatever its definition says.</summary>
    public TimeoutReaction Reaction
    {
        get => _watch.Reaction;
        set => _watch.Reaction = value;
    }

    /// <summary>It does not know its position; told only where the definition has a number for that.</summary>
    public bool IsPlaceUnknown
    {
        get => _teller.IsPlaceUnknown;
        set => _teller.IsPlaceUnknown = value;
    }

    /// <summary>True while it starts and answers nobody.</summary>
    public bool IsSilent => _now is { } now && (now < _bootedAt || now < _savingUntil);

    /// <summary>Times its stored registers were written, or its parameters saved, since it was put in.</summary>
    public int MemoryWrites => _memory.Writes;

    /// <summary>Raw value of a register it declares, by name.</summary>
    /// <exception cref="ArgumentException">The definition has no such field.</exception>
    public long Register(string name) => _bank.Find(name)?.Raw ?? throw new ArgumentException($"{Axis.Name} has no register '{name}'", nameof(name));

    /// <summary>Its state in words, for people and failing tests.</summary>
    public string StateName => _front.StateName;

    /// <summary>Code of its latched fault or warning; 0 for none.</summary>
    public ushort ErrorCode => _front.ErrorCode;

    /// <summary>Told of each thing that it does once for each time it is told to, the moment it does it: what was executed, whatever was answered.</summary>
    public Action<DriveAct>? Acted
    {
        get => _front.Acted;
        set => _front.Acted = value;
    }

    /// <summary>True while a fault is latched.</summary>
    public bool IsFaulted => _front.IsFaulted;

    /// <summary>True once homed since the encoder last lost its place.</summary>
    public bool IsHomed => _axis.IsHomed;

    /// <summary>What it tells of its program, where its definition has a place for it.</summary>
    public ushort FirmwareVersion
    {
        get => (ushort)(_bank.Told(FieldNames.FirmwareVersion)?.Raw ?? 0);
        set => _bank.Told(FieldNames.FirmwareVersion)?.SetWrapped(value);
    }

    /// <summary>The next so many reads and writes are answered "busy" and have no effect.</summary>
    public int BusyAnswers { get; set; }

    /// <summary>A torque limit above this is cut to it without a word, percent of rated.</summary>
    public double LargestTorqueLimit { get; set; } = double.PositiveInfinity;

    /// <summary>Number of the last CiA 402 transition; 0 for none, and for drives that know no such numbers.</summary>
    public int LastTransition => (_front as Cia402Front)?.LastTransition ?? 0;

    /// <summary>Position as the drive counts it, in counts.</summary>
    public double CountedPosition => _axis.Position;

    /// <summary>Commanded minus actual position in counts; 0 without torque.</summary>
    public double FollowingError => _axis.FollowingError;

    /// <summary>Lets time pass up to <paramref name="now"/>; the first call sets where it begins. Earlier times do nothing.</summary>
    public void Advance(TimeSpan now)
    {
        if (_now is not { } time)
        {
            _now = now;
            _bootedAt = now;
            _watch.Restart(now);

            // It was switched on before anybody looked: its self-test is over.
            _front.Step();
            return;
        }

        while (time + Step <= now)
        {
            time += Step;
            _now = time;
            _lock.Advance(time);
            StepOnce(time);
        }
    }

    /// <inheritdoc/>
    public byte Read(ushort start, Span<ushort> values)
    {
        if (IsBusy(out byte busy))
        {
            return busy;
        }

        _teller.Tell((_now ?? default) - _bootedAt, SerialNumber);
        _lock.Tell();
        byte code = _bank.Read(start, values);
        if (code == 0 || Axis.Drive.CommunicationTimeout?.FedBy == TimeoutFeed.AnyFrame)
        {
            _watch.OnRead(_now ?? default);
        }

        return code;
    }

    /// <inheritdoc/>
    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        if (IsSilent)
        {
            return DeviceFailure;
        }

        if (IsBusy(out byte busy))
        {
            return busy;
        }

        byte code = _lock.Takes(start, values.Length) ? _bank.Write(start, values) : DeviceFailure;
        if (code == 0 || Axis.Drive.CommunicationTimeout?.FedBy == TimeoutFeed.AnyFrame)
        {
            _watch.OnWrite(_now ?? default);
        }

        if (code == 0)
        {
            _lock.Written(start, values.Length);
            _commanded.CutTorqueLimit(LargestTorqueLimit);
            _front.Written();
            if (_memory.Written(start, values.Length))
            {
                _savingUntil = (_now ?? default) + (Axis.Drive.SaveParameters!.Busy * SavingShare);
            }
        }

        return code;
    }

    /// <summary>A request came that concerns none of its registers, such as one for an echo.</summary>
    public void Hear()
    {
        if (Axis.Drive.CommunicationTimeout?.FedBy == TimeoutFeed.AnyFrame)
        {
            _watch.OnRead(_now ?? default);
        }
    }

    /// <summary>Leaves time out of the communication time-out's count: time in which the simulation, not the master, was silent.</summary>
    public void ExcuseSilence(TimeSpan time) => _watch.Excuse(time);

    /// <summary>Closes (true) or opens a digital input.</summary>
    /// <exception cref="ArgumentException">The definition has no input of that name.</exception>
    public void SetInput(string name, bool closed) => _teller.SetInput(name, closed);

    /// <summary>Whether a digital input is closed.</summary>
    /// <exception cref="ArgumentException">The definition has no input of that name.</exception>
    public bool Input(string name) => _teller.Input(name);

    /// <summary>Whether a digital output is on.</summary>
    /// <exception cref="ArgumentException">The definition has no output of that name.</exception>
    public bool Output(string name) => Axis.Drive.Outputs.TryGetValue(name, out var bit)
        ? _bank.Commanded(bit.Field) is { } field && ((field.Raw >> bit.Bit) & 1) != 0
        : throw new ArgumentException($"{Axis.Name} has no output '{name}'", nameof(name));

    /// <summary>Raises a fault, its cause gone at once.</summary>
    /// <param name="code">As the drive would tell it in its error code; not 0.</param>
    public void Trip(ushort code) => _front.Raise(code);

    /// <summary>It no longer knows its zero and says so where its definition has a place for it; torque stays.</summary>
    public void LoseZero() => _axis.LoseZero();

    /// <summary>True while it takes nothing but a stop: its unlock sequence was not written since it started.</summary>
    public bool IsLocked => _lock.IsLocked;

    /// <summary>How long it takes from the last write of its unlock sequence until it takes commands; 0 by default.</summary>
    public TimeSpan UnlockDelay
    {
        get => _lock.Delay;
        set => _lock.Delay = value;
    }

    /// <summary>It locks itself, as some do after a while or from their keypad; nothing where its definition has no unlock sequence.</summary>
    public void Lock() => _lock.Lock();

    /// <summary>Takes power away and gives it back: everything volatile is lost, and the drive is silent while it starts.</summary>
    public void Restart()
    {
        _axis.Restart(Axis.Reference == ReferenceKind.Absolute && !IsBatteryEmpty);
        var firmware = FirmwareVersion;
        _bank.Clear();
        FirmwareVersion = firmware;
        _memory.Restore();
        _savingUntil = TimeSpan.Zero;
        _lock.Lock();
        _front.Restart();
        Commission();
        _bootedAt = (_now ?? default) + Plant.Settings.BootTime;
        _watch.Restart(_now ?? default);
    }

    /// <summary>Puts another drive of the same kind in its place; its encoder counts from elsewhere.</summary>
    /// <param name="serialNumber">Of the new one.</param>
    public void Exchange(uint serialNumber)
    {
        SerialNumber = serialNumber;
        IsBatteryEmpty = false;
        _memory.Forget();
        Restart();
        _axis.Restart(keepsPlace: false);
    }

    private bool IsBusy(out byte code)
    {
        code = Axis.Drive.Wire.BusyExceptions is [var first, ..] ? first : DeviceBusy;
        if (BusyAnswers <= 0)
        {
            return false;
        }

        BusyAnswers--;
        return true;
    }

    private void Commission()
    {
        _commanded.Commission();
        if (_timeout is { Field.Access: not RegisterAccess.Read })
        {
            _watch.Set(TimeSpan.Zero, _now ?? default);
        }
        else
        {
            _watch.Set(Axis.CommunicationTimeout, _now ?? default);
            _timeout?.SetTimeClamped(Axis.CommunicationTimeout);
        }
    }

    private void StepOnce(TimeSpan now)
    {
        if (now < _bootedAt)
        {
            _axis.Step();
            return;
        }

        Watch(now);
        _front.Step();
        _axis.TorqueLimit = _commanded.TorqueLimit;
        _axis.HoldsBrake = _holdBrake.IsSet;
        _axis.Step();
        if (_axis.Trip != 0)
        {
            _front.Raise(_axis.Trip);
        }
    }

    private void Watch(TimeSpan now)
    {
        if (_timeout is { Field.Access: not RegisterAccess.Read })
        {
            _watch.Set(_timeout.Time, now);
        }

        if (!Plant.Powered)
        {
            _watch.Restart(now);
        }
        else if (_watch.IsOver(now) && !IsFaulted)
        {
            _front.CommunicationLost(_watch.Reaction);
            _watch.Restart(now);
        }
    }
}
