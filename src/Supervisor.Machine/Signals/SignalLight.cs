using Supervisor.Configuration.Signals;
using Supervisor.Machine.Api;

namespace Supervisor.Machine.Signals;

/// <summary>What one light shows.</summary>
internal static class SignalLight
{
    /// <summary>By the states that hold: flashing goes before steady.</summary>
    public static LightLook Look(LightDefinition light, SignalStates states) =>
        (states & light.Flashing) != SignalStates.None ? LightLook.Flashing
        : (states & light.Steady) != SignalStates.None ? LightLook.Steady
        : LightLook.Dark;

    /// <summary>Whether it is on at an instant. Lights of one frequency flash together, as long on as off.</summary>
    public static bool IsOn(LightDefinition light, LightLook look, TimeSpan now) => look switch
    {
        LightLook.Steady => true,
        LightLook.Flashing => (long)(now.TotalSeconds * light.FlashHz * 2) % 2 == 0,
        _ => false,
    };
}
