using Supervisor.Configuration.Drives;
using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Drives;

/// <summary>Fills what the drive tells into its registers, when somebody is about to read them.</summary>
internal sealed class FeedbackTeller
{
    private readonly DriveDefinition _definition;
    private readonly ServoAxis _axis;
    private readonly IDriveFront _front;
    private readonly Dictionary<string, bool> _inputs = [];
    private readonly List<(RegisterValue Field, int Bit, string Name)> _inputBits = [];
    private readonly List<RegisterValue> _inputFields = [];
    private readonly RegisterValue? _position;
    private readonly RegisterValue? _velocity;
    private readonly RegisterValue? _torque;
    private readonly RegisterValue? _followingError;
    private readonly RegisterValue? _errorCode;
    private readonly RegisterValue? _uptime;
    private readonly RegisterValue? _serialNumber;
    private readonly RegisterValue? _homed;
    private readonly RegisterValue? _batteryField;

    public FeedbackTeller(DriveDefinition definition, RegisterBank bank, ServoAxis axis, IDriveFront front)
    {
        (_definition, _axis, _front) = (definition, axis, front);
        _position = bank.Told("position");
        _velocity = bank.Told("velocity");
        _torque = bank.Told("torque");
        _followingError = bank.Told("followingError");
        _errorCode = bank.Told("errorCode");
        _uptime = bank.Told("uptime");
        _serialNumber = bank.Told("serialNumber");
        _homed = bank.Told("homed");
        _batteryField = definition.BatteryAlarm?.Bit is { } battery ? bank.Told(battery.Field) : null;
        foreach (var (name, bit) in definition.Inputs)
        {
            _inputs[name] = false;
            if (bank.Told(bit.Field) is { } field)
            {
                _inputBits.Add((field, bit.Bit, name));
                if (_inputFields.TrueForAll(known => known.Field != field.Field))
                {
                    _inputFields.Add(field);
                }
            }
        }
    }

    /// <summary>The battery of the encoder is empty.</summary>
    public bool IsBatteryEmpty { get; set; }

    public void SetInput(string name, bool closed)
    {
        Known(name);
        _inputs[name] = closed;
    }

    public bool Input(string name)
    {
        Known(name);
        return _inputs[name];
    }

    /// <summary>The drive does not know its position, whatever it was homed to.</summary>
    public bool IsPlaceUnknown { get; set; }

    private void TellPosition()
    {
        if (_position is { Field.Sentinels: { Count: > 0 } sentinels } && (IsPlaceUnknown || !_axis.IsHomed))
        {
            _position.SetWrapped(sentinels[0]);
        }
        else
        {
            _position?.SetWrapped((long)Math.Round(_axis.Position / _position.Field.Scale));
        }
    }

    /// <summary>Fills in everything as it is now.</summary>
    public void Tell(TimeSpan uptime, uint serialNumber)
    {
        foreach (var field in _inputFields)
        {
            field.SetWrapped(0);
        }

        if (_batteryField is not null && !_inputFields.Exists(field => field.Field == _batteryField.Field))
        {
            _batteryField.SetWrapped(0);
        }

        _front.Tell();
        TellPosition();
        _velocity?.SetClamped(_axis.Plant.VelocityCounts);
        _torque?.SetClamped(_axis.Plant.Torque);
        _followingError?.SetClamped(_axis.FollowingError);
        _errorCode?.SetClamped(_front.ErrorCode == 0 && IsBatteryEmpty ? _definition.BatteryAlarm?.ErrorCode ?? 0 : _front.ErrorCode);
        _uptime?.SetTimeWrapped(uptime);
        _serialNumber?.SetWrapped(serialNumber);
        _homed?.SetClamped(_axis.IsHomed ? 1 : 0);
        if (IsBatteryEmpty)
        {
            _batteryField?.Or(1u << _definition.BatteryAlarm!.Bit!.Value.Bit);
        }

        foreach (var (field, bit, name) in _inputBits)
        {
            if (_inputs[name])
            {
                field.Or(1u << bit);
            }
        }
    }

    private void Known(string name)
    {
        if (!_inputs.ContainsKey(name))
        {
            string known = _inputs.Count == 0 ? "none" : string.Join(", ", _definition.Inputs.Keys);
            throw new ArgumentException($"no input '{name}'; known inputs: {known}", nameof(name));
        }
    }
}
