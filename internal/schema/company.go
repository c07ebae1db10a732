package schema

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"spanseal/internal/company"
)

// firm is the schema of a company file: that of job.yaml without what is a job's own,
// and without what a part need not have.
func firm(name string) Described {
	return Described{name, "company.yaml, named by company in job.yaml", func(templates fs.FS) ([]byte, error) {
		data, err := fs.ReadFile(templates, path.Join(folder, "job"+ofJSON))
		if err != nil {
			return nil, err
		}
		var schema map[string]any
		if err := json.Unmarshal(data, &schema); err != nil {
			return nil, err
		}
		then, _ := schema["then"].(map[string]any)
		for _, key := range []string{"required", "if", "then"} {
			delete(schema, key)
		}
		for _, own := range company.Own {
			at, key := schema, own
			if i := strings.LastIndexByte(own, '.'); i >= 0 {
				at, key = below(schema, strings.Split(own[:i], ".")...), own[i+1:]
			}
			keys, _ := at["properties"].(map[string]any)
			if _, known := keys[key]; !known {
				return nil, fmt.Errorf("job.yaml has no %s", own)
			}
			delete(keys, key)
		}
		delete(below(schema, "job"), "required")
		// An entry of a list is whole, as it is where there is no company file.
		for _, list := range []string{"people", "instruments"} {
			items, _ := below(schema, list)["items"].(map[string]any)
			whole, _ := below(then, list)["items"].(map[string]any)
			have, _ := items["required"].([]any)
			more, _ := whole["required"].([]any)
			items["required"] = append(have, more...)
		}
		schema["$id"], schema["title"] = "urn:spanseal:schema:"+name+":1", "company.yaml"
		schema["description"] = "What is the same in every job of a company: a job takes from it what its job.yaml does not state."
		return indented(schema)
	}}
}

// below is the schema of a key, or of one in it.
func below(schema map[string]any, keys ...string) map[string]any {
	for _, key := range keys {
		properties, _ := schema["properties"].(map[string]any)
		schema, _ = properties[key].(map[string]any)
	}
	return schema
}
